import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';

/** SHA-256 of what is in a file, hexadecimal: to show that nothing has touched it. */
export function digestOfFile(path: string): string {
  return createHash('sha256').update(readFileSync(path)).digest('hex');
}
