import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { Worker } from 'node:worker_threads';
import { ORPCError } from '@orpc/server';
import Database from 'better-sqlite3';
import { WebSocketServer } from 'ws';
import { z } from 'zod';

/**
 * The floor of a start: the packages of the host, each used once, a database that is opened, a thread for files
 * with the packages of the host's, a server on the loopback that answers. `node bench-start-floor.js DATABASE`.
 */
const path = z.string().min(1).parse(process.argv[2]);
const database = new Database(path);
database.pragma('user_version');

const worker = new Worker(new URL('./bench-start-floor-worker.js', import.meta.url));
worker.once('message', () => {
  const server = createServer((request, response) => {
    const refusal = request.method === 'GET' ? null : new ORPCError('METHOD_NOT_SUPPORTED');
    response.writeHead(refusal === null ? 200 : 405, { 'content-type': 'text/html' });
    response.end('<!doctype html><title>floor</title>');
  });
  new WebSocketServer({ noServer: true });
  server.listen(0, '127.0.0.1', () => {
    const { port } = server.address() as AddressInfo;
    console.log(JSON.stringify({ url: `http://127.0.0.1:${port}/` }));
  });
});
