import type { ProblemCode } from '../../model/reading.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import type { DecodedInstrument } from './decode-again.ts';

/** Something that the record holds and the bytes do not say, or the other way round. */
export interface Difference {
  readonly instrument: string;
  readonly kind: 'value' | 'reading-without-bytes' | 'reading-not-stored' | 'problem' | 'port';
  readonly atMicroseconds: number;
  /** What stands in the record and what the bytes say, in words; null: nothing. */
  readonly stored: string | null;
  readonly decoded: string | null;
}

/** One instrument, its record held against its bytes. */
export interface InstrumentComparison {
  readonly instrument: string;
  readonly receivedBytes: number;
  readonly sentBytes: number;
  readonly readings: number;
  readonly problems: number;
  readonly confirmations: number;
  /** Differences in the first line of a conversation, which may have begun before the record did. */
  readonly atEdge: number;
  readonly differences: readonly Difference[];
}

/** Problems that come from bytes alone. Silence and connections come from clocks and ports. */
const ofBytes: ReadonlySet<ProblemCode> = new Set<ProblemCode>([
  'line-undecodable',
  'line-too-long',
  'line-incomplete',
  'checksum-wrong',
  'status-bad',
  'reading-out-of-range',
  'payload-malformed',
  'contact-lost',
  'answer-unexpected',
]);

/** A problem that stands for a flood says so like this. */
const summed = /^(\d+) more of the same in this second/;

/** Holds what a trial has stored of one instrument against what its bytes say. Pure. */
export function compareWithBytes(record: TrialRecord, decoded: DecodedInstrument): InstrumentComparison {
  const problems = compareProblems(record, decoded);
  const ports = comparePorts(record, decoded);
  const found = [...compareReadings(record, decoded), ...problems.differences, ...ports.differences];
  const atEdge = (difference: Difference): boolean =>
    decoded.edges.has(difference.atMicroseconds) && difference.kind !== 'port';
  return {
    instrument: decoded.instrument,
    receivedBytes: decoded.receivedBytes,
    sentBytes: decoded.sentBytes,
    readings: decoded.readings.length,
    problems: problems.count,
    confirmations: ports.count,
    atEdge: found.filter(atEdge).length,
    differences: found
      .filter((difference) => !atEdge(difference))
      .sort((one, other) => one.atMicroseconds - other.atMicroseconds),
  };
}

function compareReadings(record: TrialRecord, decoded: DecodedInstrument): Difference[] {
  const { instrument } = decoded;
  const differences: Difference[] = [];
  // A polled instrument's line that nobody asked for is a problem in the record, and a reading to one who listens.
  const unasked = new Set(
    problemsOf(record, instrument).flatMap(({ atMicroseconds, code }) =>
      code === 'answer-unexpected' ? [atMicroseconds] : [],
    ),
  );
  for (const { descriptor, atMicroseconds, values } of record.streams) {
    if (descriptor.instrument !== instrument) continue;
    const again = decoded.readings.filter(({ stream }) => stream === descriptor.stream);
    const text = (value: number): string => `${descriptor.stream} ${value} ${descriptor.unit}`;
    let stored = 0;
    let next = 0;
    while (stored < values.length || next < again.length) {
      const at = atMicroseconds[stored] ?? Number.POSITIVE_INFINITY;
      const value = values[stored] ?? Number.NaN;
      const other = again[next];
      const otherAt = other?.atMicroseconds ?? Number.POSITIVE_INFINITY;
      if (other !== undefined && at === otherAt) {
        if (!Object.is(value, other.value)) {
          const says = { stored: text(value), decoded: text(other.value) };
          differences.push({ instrument, kind: 'value', atMicroseconds: at, ...says });
        }
        stored += 1;
        next += 1;
      } else if (at < otherAt) {
        const says = { stored: text(value), decoded: null };
        differences.push({ instrument, kind: 'reading-without-bytes', atMicroseconds: at, ...says });
        stored += 1;
      } else {
        if (other !== undefined && !unasked.has(otherAt)) {
          const says = { stored: null, decoded: text(other.value) };
          differences.push({ instrument, kind: 'reading-not-stored', atMicroseconds: otherAt, ...says });
        }
        next += 1;
      }
    }
  }
  return differences;
}

function problemsOf(record: TrialRecord, instrument: string) {
  return record.events.flatMap((event) =>
    event.kind === 'problem' && event.problem.instrument === instrument && ofBytes.has(event.problem.code)
      ? [event.problem]
      : [],
  );
}

/**
 * Each stored problem must be among the decoded ones, at the same time and with the same bytes. Of a flood the record
 * holds the first of each second and a sum: those beyond are counted. What nobody waited for depends on what was asked
 * when, so for that code only the bytes are compared, not the words.
 */
function compareProblems(
  record: TrialRecord,
  decoded: DecodedInstrument,
): { readonly count: number; readonly differences: Difference[] } {
  const { instrument } = decoded;
  const stored = problemsOf(record, instrument);
  const open = decoded.problems.filter(({ code }) => ofBytes.has(code)).map((problem) => ({ ...problem, used: false }));
  const differences: Difference[] = [];
  const floods = new Map<ProblemCode, number>();
  for (const problem of stored) {
    const { atMicroseconds, byteCount, code, detail } = problem;
    const sum = summed.exec(detail);
    if (sum !== null) {
      floods.set(code, (floods.get(code) ?? 0) + Number(sum[1]));
      continue;
    }
    const match = open.find(
      (candidate) =>
        !candidate.used &&
        candidate.code === code &&
        candidate.atMicroseconds === atMicroseconds &&
        candidate.byteCount === byteCount &&
        (code === 'answer-unexpected' || candidate.detail === detail),
    );
    if (match !== undefined) match.used = true;
    // The line was there, and was the answer to a question that had been given up by then.
    else if (code !== 'answer-unexpected') {
      const says = { stored: `${code}: ${detail}`, decoded: null };
      differences.push({ instrument, kind: 'problem', atMicroseconds, ...says });
    }
  }
  for (const problem of open) {
    if (problem.used) continue;
    const held = floods.get(problem.code) ?? 0;
    if (held > 0) {
      floods.set(problem.code, held - 1);
      continue;
    }
    const says = { stored: null, decoded: `${problem.code}: ${problem.detail}` };
    differences.push({ instrument, kind: 'problem', atMicroseconds: problem.atMicroseconds, ...says });
  }
  for (const [code, missing] of floods) {
    if (missing === 0) continue;
    const says = { stored: `${missing} more ${code} summed up`, decoded: null };
    differences.push({ instrument, kind: 'problem', atMicroseconds: 0, ...says });
  }
  return { count: stored.length, differences };
}

/** Every port that the record calls confirmed must be confirmed by bytes of that moment. */
function comparePorts(
  record: TrialRecord,
  decoded: DecodedInstrument,
): { readonly count: number; readonly differences: Difference[] } {
  const { instrument } = decoded;
  if (record.rig.selectorValve !== instrument) return { count: 0, differences: [] };
  const said = new Map<number, number[]>();
  for (const { atMicroseconds, port } of decoded.confirmed) {
    said.set(atMicroseconds, [...(said.get(atMicroseconds) ?? []), port]);
  }
  const differences: Difference[] = [];
  let count = 0;
  for (const event of record.events) {
    if (event.kind !== 'port-acknowledged') continue;
    count += 1;
    const ports = said.get(event.atMicroseconds) ?? [];
    if (ports.includes(event.port)) continue;
    differences.push({
      instrument,
      kind: 'port',
      atMicroseconds: event.atMicroseconds,
      stored: `port ${event.port} confirmed`,
      decoded: ports.length === 0 ? null : `port ${ports.join(', ')} confirmed`,
    });
  }
  return { count, differences };
}
