import { parseArgs } from 'node:util';
import { parseScenario, scenarioNamed, scenarioNames, type Scenario } from '../../../drivers/virtual-rig/index.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { readGivenFile } from '../given-file.ts';

export type RigWireKind = 'pty' | 'tcp';

export interface RigProcessOptions {
  readonly wire: RigWireKind;
  readonly scenario: Scenario;
  readonly seed: number;
  /** File for the truth record, or null for none. */
  readonly truthFile: string | null;
  /** The truth file is there already, from before a break, and is continued. */
  readonly continueTruth: boolean;
  /** The subject is inside already, in this exercise or at rest (null): a rehearsal that goes on after a break. */
  readonly startedInside: { readonly exercise: string | null } | null;
}

export const rigProcessHelp = `The virtual rig: a laboratory that exists only in software and speaks on real wires.

  --wire pty|tcp      pseudo-terminals (default) or TCP ports on 127.0.0.1
  --scenario NAME     ${scenarioNames.join(', ')}, or the path of a scenario file; default demo
  --seed NUMBER       whole number ≥ 0, default 1; the same seed gives the same physics
  --truth FILE        keep the true concentrations in this file
  --continue          go on with the truth file that is there already
  --inside            the subject is inside already
  --exercise NAME     with --inside: the exercise that the subject is in; default rest
  --help              this text

Lines of JSON on standard input steer it: {"cue":{"cue":"enter","exercise":null}},
{"fault":{"fault":"unplug","instrument":"photometer","seconds":5,"newName":true}},
{"hand":{"hand":"inlet","probe":"ankle","air":"filtered"}}, {"stop":true}.
It ends when standard input ends, and on Ctrl-C.
`;

function usageError(what: string, where: string): ChambersideError {
  return new ChambersideError('usage-bad-value', what, where, 'See --help for what is possible.');
}

/**
 * A scenario by the name of one that comes with the program, or by the path of a JSON file (a value with a path
 * separator or the ending .json).
 * @throws ChambersideError `usage-bad-value`, `file-not-found`, `file-not-ours`, `configuration-invalid`.
 */
export function findScenario(value: string): Scenario {
  const named = scenarioNamed(value);
  if (named !== undefined) return named;
  if (!/[/\\]|\.json$/.test(value)) {
    throw new ChambersideError(
      'usage-bad-value',
      `there is no scenario ${JSON.stringify(value)}`,
      '--scenario',
      `Name one of ${scenarioNames.join(', ')}, or the path of a scenario file, such as ./mine.json.`,
    );
  }
  const remedy = `Check the path, or name one of ${scenarioNames.join(', ')}.`;
  const text = readGivenFile(value, 'scenario', remedy);
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new ChambersideError(
      'configuration-invalid',
      `the scenario file is not JSON: ${reason}`,
      value,
      'Correct the file, or begin from one of the scenarios that come with the program.',
      error,
    );
  }
  return parseScenario(data, value);
}

/**
 * Options of the rig process from its command line; null when help was asked for.
 * @throws ChambersideError `usage-unknown-option`, `usage-bad-value`, and what `findScenario` throws.
 */
export function parseRigProcessOptions(args: readonly string[]): RigProcessOptions | null {
  let values;
  try {
    ({ values } = parseArgs({
      args: [...args],
      options: {
        wire: { type: 'string', default: 'pty' },
        scenario: { type: 'string', default: 'demo' },
        seed: { type: 'string', default: '1' },
        truth: { type: 'string' },
        continue: { type: 'boolean', default: false },
        inside: { type: 'boolean', default: false },
        exercise: { type: 'string' },
        help: { type: 'boolean', default: false },
      },
    }));
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    const remedy = 'See --help for what is possible.';
    throw new ChambersideError('usage-unknown-option', reason, 'virtual rig', remedy, error);
  }
  if (values.help) return null;
  const { wire } = values;
  if (wire !== 'pty' && wire !== 'tcp') throw usageError(`the wire is pty or tcp, not ${wire}`, '--wire');
  const seed = /^(?:0|[1-9][0-9]*)$/.test(values.seed) ? Number(values.seed) : Number.NaN;
  if (!Number.isSafeInteger(seed)) {
    throw usageError(`the seed is a whole number from 0, not ${values.seed}`, '--seed');
  }
  if (values.exercise !== undefined && !values.inside) {
    throw usageError('an exercise is only possible for a subject who is inside', '--exercise');
  }
  return {
    wire,
    scenario: findScenario(values.scenario),
    seed,
    truthFile: values.truth ?? null,
    continueTruth: values.continue,
    startedInside: values.inside ? { exercise: values.exercise ?? null } : null,
  };
}
