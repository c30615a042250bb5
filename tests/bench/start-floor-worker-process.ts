import { parentPort } from 'node:worker_threads';
import Database from 'better-sqlite3';
import { z } from 'zod';

/** The thread of the floor of a start: the packages that the host's thread for files loads, each used once. */
new Database(':memory:').close();
parentPort?.postMessage(z.string().parse('ready'));
