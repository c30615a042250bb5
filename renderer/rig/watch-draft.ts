import type { WatchedLimit } from '../../src/model/watched-limit.ts';

/** A watched limit on its way into the rig: as the form shows it. */
export interface WatchDraft {
  /** Kept while the title is reworded, so that an alarm stays the same one; empty: made of the title. */
  readonly name: string;
  readonly title: string;
  /** `instrument/stream` */
  readonly of: string;
  readonly unit: WatchedLimit['unit'];
  readonly side: WatchedLimit['side'];
  readonly limit: string;
  readonly holdSeconds: string;
  readonly clearBy: string;
  readonly priority: WatchedLimit['priority'];
  readonly action: string;
  readonly source: string;
}

/** A stream that a limit can be set for. */
export type OfferedStream = Pick<WatchedLimit, 'instrument' | 'stream' | 'unit'>;

export function watchDraft(limit: WatchedLimit): WatchDraft {
  const { action, name, priority, side, source, title, unit } = limit;
  return {
    ...{ action, name, priority, side, source, title, unit },
    of: `${limit.instrument}/${limit.stream}`,
    limit: String(limit.limit),
    holdSeconds: String(limit.holdSeconds),
    clearBy: String(limit.clearBy),
  };
}

/** A limit to fill in, for the first stream that can have one. */
export function anotherLimit(offered: readonly OfferedStream[]): WatchDraft {
  const [first] = offered;
  return {
    name: '',
    title: '',
    of: first === undefined ? '' : keyOfStream(first),
    unit: first?.unit ?? 'one',
    side: 'above',
    limit: '',
    holdSeconds: '0',
    clearBy: '0',
    priority: 'medium',
    action: '',
    source: '',
  };
}

export function keyOfStream({ instrument, stream }: Pick<OfferedStream, 'instrument' | 'stream'>): string {
  return `${instrument}/${stream}`;
}

/** Choosing a stream that is known chooses its unit. */
export function ofStream(draft: WatchDraft, of: string, offered: readonly OfferedStream[]): WatchDraft {
  const known = offered.find((stream) => keyOfStream(stream) === of);
  return { ...draft, of, unit: known?.unit ?? draft.unit };
}

/** What the schema of a rig takes of every limit. */
export function readWatches(
  drafts: readonly WatchDraft[],
  number: (text: string, path: string) => number,
): Record<keyof WatchedLimit, unknown>[] {
  const taken = new Set(drafts.map(({ name }) => name));
  return drafts.map((draft, index) => {
    const read = readWatch(draft, `watch.${index}`, number);
    if (draft.name !== '') return read;
    // Names are made, and shown nowhere: that two are alike is nobody's mistake.
    const wanted = String(read.name);
    let name = wanted;
    for (let count = 2; taken.has(name); count += 1) name = `${wanted.slice(0, 30)}-${count}`;
    taken.add(name);
    return { ...read, name };
  });
}

/** As far as it can be read. @param number reads a field, or notes what is wrong. */
function readWatch(
  draft: WatchDraft,
  path: string,
  number: (text: string, path: string) => number,
): Record<keyof WatchedLimit, unknown> {
  const { priority, side, unit } = draft;
  const slash = draft.of.indexOf('/');
  const title = draft.title.trim();
  return {
    ...{ priority, side, title, unit },
    name: draft.name === '' ? nameOf(title) : draft.name,
    instrument: draft.of.slice(0, Math.max(slash, 0)).trim(),
    stream: draft.of.slice(slash + 1).trim(),
    limit: number(draft.limit, `${path}.limit`),
    holdSeconds: number(draft.holdSeconds, `${path}.holdSeconds`),
    clearBy: number(draft.clearBy, `${path}.clearBy`),
    action: draft.action.trim(),
    source: draft.source.trim(),
  };
}

/** `Fan flow low` → `fan-flow-low` */
function nameOf(title: string): string {
  const words = title.toLowerCase().match(/[a-z0-9]+/g) ?? ['limit'];
  return words.join('-').slice(0, 34).replace(/-$/, '');
}
