import Database from 'better-sqlite3';

/**
 * Opens a database with the native part that the environment names in `CHAMBERSIDE_SQLITE`: the packaged program knows
 * where it lies. Without it, the package finds its own.
 */
export function openSqlite(path: string, options: Database.Options = {}): Database.Database {
  const nativeBinding = process.env['CHAMBERSIDE_SQLITE'];
  return new Database(path, nativeBinding === undefined ? options : { ...options, nativeBinding });
}
