import { readdir, readFile, readlink, realpath } from 'node:fs/promises';

/** A process that has a port open. */
export interface PortHolder {
  readonly processId: number;
  readonly name: string;
}

/**
 * Who has these ports open, without opening one: by the open files of the processes that this account may look at.
 * Where the system does not show them (anything but Linux), and for processes of others, nothing is found.
 * @param paths names of ports, links included.
 * @returns by the path as it was given; without those that nobody was seen to hold.
 */
export async function portHolders(paths: readonly string[], folder = '/proc'): Promise<Map<string, PortHolder>> {
  const wanted = new Map<string, string[]>();
  for (const path of paths) {
    const real = await realpath(path).catch(() => null);
    if (real !== null) wanted.set(real, [...(wanted.get(real) ?? []), path]);
  }
  const found = new Map<string, PortHolder>();
  if (wanted.size === 0) return found;
  const processes = (await readdir(folder).catch(() => [])).filter((name) => /^[0-9]+$/.test(name));
  for (const id of processes) {
    const open = await readdir(`${folder}/${id}/fd`).catch(() => []);
    const targets = await Promise.all(open.map((file) => readlink(`${folder}/${id}/fd/${file}`).catch(() => '')));
    const held = targets.flatMap((target) => wanted.get(target) ?? []);
    if (held.length === 0) continue;
    const name = (await readFile(`${folder}/${id}/comm`, 'utf8').catch(() => '')).trim();
    for (const path of held) if (!found.has(path)) found.set(path, { processId: Number(id), name });
  }
  return found;
}
