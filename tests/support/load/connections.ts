import { readFileSync } from 'node:fs';

/**
 * The command that runs these words and notes in a file every call by which they, or whatever they start, could reach
 * another machine: connections of streams, and datagrams with or without one.
 */
export function watchingConnections(file: string, words: readonly string[]): readonly string[] {
  return ['strace', '-f', '--seccomp-bpf', '-e', 'trace=connect,sendto,sendmsg,sendmmsg', '-o', file, ...words];
}

/** Every internet address that stands in such a file as the destination of a call, each once, in order. */
export function destinations(file: string): string[] {
  const found = new Set<string>();
  const address = /sa_family=AF_INET6?,[^}]*?(?:inet_addr\("([^"]+)"\)|inet_pton\(AF_INET6, "([^"]+)")/g;
  for (const [, four, six] of readFileSync(file, 'latin1').matchAll(address)) found.add(four ?? six ?? '');
  return [...found];
}

export function isLoopback(address: string): boolean {
  return address === '::1' || /^(::ffff:)?127\.\d+\.\d+\.\d+$/.test(address);
}
