import { readFileSync } from 'node:fs';

/**
 * The command that runs these words and notes in a file every call by which they, or whatever they start, could reach
 * another machine: connections of streams, and datagrams with or without one.
 */
export function watchingConnections(file: string, words: readonly string[]): readonly string[] {
  // Traced from the side (-D), so that a signal to the process reaches these words and not the tracer.
  return ['strace', '-D', '-f', '--seccomp-bpf', '-e', 'trace=connect,sendto,sendmsg,sendmmsg', '-o', file, ...words];
}

/** Waits until the first process in such a file is noted to have ended. @throws Error when it is not within 20 s. */
export async function noted(file: string): Promise<void> {
  const until = Date.now() + 20_000;
  for (;;) {
    const text = readFileSync(file, 'latin1');
    const first = /^\d+/.exec(text)?.[0] ?? 'nobody';
    if (new RegExp(`^${first} \\+\\+\\+ (exited|killed)`, 'm').test(text)) return;
    if (Date.now() > until) throw new Error(`${file} does not say that process ${first} has ended`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
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
