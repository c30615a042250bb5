import { RandomStream } from '../../drivers/virtual-rig/random.ts';
import { scenarioNamed, type Scenario } from '../../drivers/virtual-rig/index.ts';

/** One fault of a scenario, with its moment on the rig's clock. */
export type TimedFault = Scenario['faults'][number];

/** The disk refuses from this committed link on, for so long (real time), or every commit is told late. */
export interface DiskTrouble {
  readonly fromLink: number;
  readonly refusesMilliseconds: number;
}

/** A whole trial and all that goes wrong in it; the seed alone makes it again. */
export interface Storm {
  readonly seed: number;
  readonly scenario: Scenario;
  readonly disk: readonly DiskTrouble[];
  /** Every acknowledgement of the disk comes this much late, real ms. */
  readonly lateMilliseconds: number;
}

/** The short series and what comes before it take about 140 s; a fault behind its end would be none. */
const longestSeconds = 130;

const wireFaults = ['garbage', 'truncated', 'merged', 'wrong-checksum', 'silence', 'frozen'] as const;

/** Draws the storm of a seed: one to five faults of every kind at any moment, and now and then a disk that refuses. */
export function drawStorm(seed: number): Storm {
  const short = scenarioNamed('short');
  if (short === undefined) throw new Error('the short scenario is missing');
  const random = new RandomStream(seed, 'storm');
  const below = (count: number): number => Math.floor(random.uniform() * count);
  const oneOf = <Item>(items: readonly Item[]): Item => items[below(items.length)] as Item;
  const probes = short.rig.ports.flatMap((port) => (port.role === 'probe' ? [port.probe] : []));
  /** From half a second to twelve, as many short ones as long ones. */
  const lasting = (): number => Math.round(500 * 24 ** random.uniform()) / 1000;

  const kinds: readonly (() => TimedFault['fault'])[] = [
    ...wireFaults.map((fault) => () => ({
      fault: 'wire' as const,
      instrument: oneOf(instruments),
      wire: { fault, seconds: lasting() },
    })),
    () => ({ fault: 'unplug', instrument: oneOf(instruments), seconds: lasting(), newName: random.uniform() < 0.5 }),
    () => ({ fault: 'generator-stops', seconds: lasting() }),
    () => ({ fault: 'line-blocked', probe: oneOf(probes), seconds: lasting() }),
    () => ({ fault: 'contact-lost', seconds: lasting() }),
    // A subject who presses ends the trial, so that little is left to judge: seldom.
    () => (random.uniform() < 0.3 ? { fault: 'subject-stop', seconds: 1 } : { fault: 'door-opens' }),
    () => ({
      fault: 'contact',
      contact: 'stop',
      failure: oneOf(['stuck', 'bounce', 'wire-cut'] as const),
      seconds: lasting(),
    }),
    () => ({ fault: 'valve', behaviour: oneOf(['late', 'wrong', 'never'] as const), seconds: lasting() }),
    () => ({ fault: 'door-opens' }),
    () => ({ fault: 'zero-jump', percentOfChallenge: 0.05 * random.normal() }),
    () => ({ fault: 'span-jump', percent: 5 * random.normal() }),
  ];
  const instruments = short.rig.instruments.map(({ instrument }) => instrument);
  const faults = Array.from({ length: 1 + below(5) }, () => ({
    atSeconds: Math.round(1000 * (3 + random.uniform() * (longestSeconds - 3))) / 1000,
    fault: oneOf(kinds)(),
  })).sort((one, other) => one.atSeconds - other.atSeconds);
  const disk =
    random.uniform() < 0.3
      ? [{ fromLink: 1 + below(longestSeconds), refusesMilliseconds: 50 + below(400) }]
      : [];
  return {
    seed,
    scenario: { ...short, name: `storm-${seed}`, faults },
    disk,
    lateMilliseconds: random.uniform() < 0.2 ? 1 + below(8) : 0,
  };
}
