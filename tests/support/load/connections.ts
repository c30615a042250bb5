import { readFileSync } from 'node:fs';

/**
 * The command that runs these words and notes in a file every call by which they, or whatever they start, could reach
 * another machine: connections of streams, and datagrams with or without one.
 */
export function watchingConnections(file: string, words: readonly string[]): readonly string[] {
  const calls = 'trace=socket,connect,sendto,sendmsg,sendmmsg,close';
  // Traced from the side (-D), so that a signal to the process reaches these words and not the tracer.
  return ['strace', '-D', '-f', '--seccomp-bpf', '-e', calls, '-o', file, ...words];
}

/** Waits until the first process in such a file is noted to have ended. @throws Error when it is not within 20 s. */
export async function noted(file: string): Promise<void> {
  const until = Date.now() + 20_000;
  for (;;) {
    const text = readFileSync(file, 'latin1');
    const first = /^\d+/.exec(text)?.[0] ?? 'nobody';
    // Numbers of fewer than five digits are followed by more than one space.
    if (new RegExp(`^${first} +\\+\\+\\+ (exited|killed)`, 'm').test(text)) return;
    if (Date.now() > until) throw new Error(`${file} does not say that process ${first} has ended`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** Internet addresses of such a file, each once, in order. */
export interface Destinations {
  /** Something was sent there: a stream was connected, or a datagram went out. */
  readonly reached: readonly string[];
  /** A datagram's socket was told of it, which sends nothing, and then nothing was sent. */
  readonly onlyNamed: readonly string[];
}

const addressIn = /sa_family=AF_INET6?,[^}]*?(?:inet_addr\("([^"]+)"\)|inet_pton\(AF_INET6, "([^"]+)")/;

/** What a thread has done with its sockets, by descriptor; what is not known counts as a stream. */
interface Sockets {
  opening: string;
  readonly kinds: Map<string, string>;
  readonly named: Map<string, string>;
}

export function destinations(file: string): Destinations {
  const reached = new Set<string>();
  const named = new Set<string>();
  const threads = new Map<string, Sockets>();
  for (const line of readFileSync(file, 'latin1').split('\n')) {
    const [, thread = '', call = ''] = /^(\d+) +(.*)$/.exec(line) ?? [];
    const sockets: Sockets = threads.get(thread) ?? { opening: '', kinds: new Map(), named: new Map() };
    threads.set(thread, sockets);
    const [, name = '', descriptor = ''] = /^(\w+)\((\d*)/.exec(call) ?? [];
    const found = addressIn.exec(call);
    const address = found?.[1] ?? found?.[2];
    if (name === 'socket') sockets.opening = /SOCK_\w+/.exec(call)?.[0] ?? '';
    if (name === 'socket' || call.startsWith('<... socket resumed>')) {
      const opened = / = (\d+)/.exec(call)?.[1];
      if (opened !== undefined) sockets.kinds.set(opened, sockets.opening);
    } else if (name === 'close') {
      sockets.kinds.delete(descriptor);
      sockets.named.delete(descriptor);
    } else if (name === 'connect' && address !== undefined && sockets.kinds.get(descriptor) === 'SOCK_DGRAM') {
      sockets.named.set(descriptor, address);
      named.add(address);
    } else {
      const to = address ?? (name.startsWith('send') ? sockets.named.get(descriptor) : undefined);
      if (to !== undefined) reached.add(to);
    }
  }
  return { reached: [...reached], onlyNamed: [...named].filter((address) => !reached.has(address)) };
}

export function isLoopback(address: string): boolean {
  return address === '::1' || /^(::ffff:)?127\.\d+\.\d+\.\d+$/.test(address);
}
