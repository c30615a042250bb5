import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { extname, join, relative, sep } from 'node:path';

/** One file as it is sent. */
export interface StaticFile {
  readonly contentType: string;
  readonly bytes: Buffer;
}

/** What a door can serve, by path: `/assets/console.js`. Nothing else has a path, so none can lead outside. */
export interface StaticFiles {
  /** Text of the page; null when the screens were not built. */
  readonly page: string | null;
  readonly files: ReadonlyMap<string, StaticFile>;
}

const contentTypes: Readonly<Record<string, string>> = {
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.woff': 'font/woff',
  '.json': 'application/json; charset=utf-8',
  '.webmanifest': 'application/manifest+json; charset=utf-8',
  '.txt': 'text/plain; charset=utf-8',
};

const pageName = 'index.html';

/**
 * Reads the folder of the built screens into memory, once: what changes on disk afterwards is not served. Links and
 * files of kinds that the screens have no use for (source maps, pages besides the one) are left out.
 */
export function readStaticFiles(folder: string): StaticFiles {
  if (!existsSync(folder)) return { page: null, files: new Map() };
  const files = new Map<string, StaticFile>();
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    const contentType = contentTypes[extname(entry.name)];
    if (!entry.isFile() || contentType === undefined) continue;
    const path = join(entry.parentPath, entry.name);
    files.set(`/${relative(folder, path).split(sep).join('/')}`, { contentType, bytes: readFileSync(path) });
  }
  const page = join(folder, pageName);
  return { page: existsSync(page) ? readFileSync(page, 'utf8') : null, files };
}
