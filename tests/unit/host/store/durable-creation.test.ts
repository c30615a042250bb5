import type * as FileSystem from 'node:fs';
import { existsSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, expect, it, vi } from 'vitest';
import { createDatabase } from '../../../../src/host/store/database.ts';
import { temporaryFolder } from '../../../support/store/trial.ts';

const synchronized = vi.hoisted(() => [] as { inode: number; named: boolean }[]);
const target = vi.hoisted(() => ({ path: '' }));

// The calls are made all the same; only their order is noted.
vi.mock('node:fs', async (original) => {
  const fs = await original<typeof FileSystem>();
  return {
    ...fs,
    fsyncSync(descriptor: number) {
      fs.fsyncSync(descriptor);
      synchronized.push({ inode: fs.fstatSync(descriptor).ino, named: fs.existsSync(target.path) });
    },
  };
});

const folder = temporaryFolder();
afterEach(() => folder.remove());

it('a new file is on the disk before it has its name, and its name is on the disk when it is handed over', () => {
  target.path = join(folder.path, 'study.chamberside');
  createDatabase('study', target.path);
  expect(existsSync(target.path)).toBe(true);
  expect(synchronized).toEqual([
    { inode: statSync(target.path).ino, named: false },
    { inode: statSync(folder.path).ino, named: true },
  ]);
});
