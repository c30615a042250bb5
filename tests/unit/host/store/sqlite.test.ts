import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { openSqlite } from '../../../../src/host/store/sqlite.ts';

const packageFolder = dirname(createRequire(import.meta.url).resolve('better-sqlite3/package.json'));

describe('the native part of SQLite', () => {
  afterEach(() => {
    delete process.env['CHAMBERSIDE_SQLITE'];
  });

  it('is the one that the environment names', () => {
    process.env['CHAMBERSIDE_SQLITE'] = join(packageFolder, 'build/Release/better_sqlite3.node');
    const connection = openSqlite(':memory:');
    expect(connection.prepare('SELECT 6 * 7').pluck().get()).toBe(42);
    connection.close();
    process.env['CHAMBERSIDE_SQLITE'] = join(packageFolder, 'none.node');
    expect(() => openSqlite(':memory:')).toThrow('none.node');
  });

  it('is found by its package otherwise', () => {
    openSqlite(':memory:').close();
  });
});
