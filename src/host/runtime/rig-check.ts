import type { CheckResult, RigState } from '../../bridge/snapshot.ts';
import { checkLimits, checkReading, judgeCheck } from '../../calibration/rig-check.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Reading } from '../../model/reading.ts';
import { solePort } from '../../model/rig.ts';
import { toMicroseconds, toSeconds } from '../../model/time.ts';
import type { OpenRig } from './open-rig.ts';

type Check = 'zero' | 'span';
type Running = NonNullable<RigState['checks']['running']>;

/** A check under way: the valve goes to the port, the air settles, a stretch is read. */
export interface RunningCheck {
  readonly state: Running;
  /** Resolves with the result, or null when it was cancelled; rejects when the valve or the readings fail. */
  readonly finished: Promise<CheckResult | null>;
  observeReading(reading: Reading): void;
  cancel(): void;
}

export interface RunCheckOptions {
  readonly rig: OpenRig;
  readonly check: Check;
  readonly person: string;
  readonly clock: Clock;
  readonly wallNow: () => Date;
  readonly onChange: () => void;
  /** How long is read after settling, s. */
  readonly readSeconds: number;
}

/** Seven time constants: what was before has decayed to e⁻⁷ = 0.09 %. */
const settlingTimeConstants = 7;

/** @throws ChambersideError `request-refused` when valve or photometer are not connected. */
export function runCheck(options: RunCheckOptions): RunningCheck {
  const { clock, check } = options;
  const { rig } = options.rig;
  const selector = options.rig.selector();
  if (selector === undefined || !options.rig.isConnected(rig.photometer)) {
    const missing = selector === undefined ? rig.selectorValve : rig.photometer;
    throw new ChambersideError('request-refused', `${missing} is not connected`, rig.name, 'Connect it, then check.');
  }
  const port = solePort(rig, check === 'zero' ? 'filtered-air' : 'reference');
  const settlingSeconds =
    (rig.bypass ? 0 : port.transitSeconds.value) +
    rig.commonTransitSeconds.value +
    rig.instrumentDelaySeconds.value +
    settlingTimeConstants * rig.timeConstantSeconds.value;
  const secondsInAll = settlingSeconds + options.readSeconds;
  const cancellation = new AbortController();
  const values: number[] = [];
  let stage: Running['stage'] = 'switching';
  let endsAt = clock.now() + toMicroseconds(secondsInAll);
  let cancelTimer: Cancel | undefined;
  let wake: (() => void) | undefined;

  const enter = (next: Running['stage']): void => {
    stage = next;
    options.onChange();
  };
  const wait = (seconds: number): Promise<void> =>
    new Promise((resolve) => {
      if (cancellation.signal.aborted) {
        resolve();
        return;
      }
      wake = resolve;
      cancelTimer = clock.after(toMicroseconds(seconds), resolve);
    });

  const perform = async (): Promise<CheckResult | null> => {
    try {
      await selector.select(port.port, cancellation.signal);
    } catch (error) {
      if (cancellation.signal.aborted) return null;
      throw error;
    }
    endsAt = clock.now() + toMicroseconds(secondsInAll);
    enter('settling');
    await wait(settlingSeconds);
    if (cancellation.signal.aborted) return null;
    enter('reading');
    await wait(options.readSeconds);
    if (cancellation.signal.aborted) return null;
    const reading = checkReading(values);
    if (reading === null) {
      throw new ChambersideError(
        'record-insufficient',
        'the photometer gave no reading while it was checked',
        `${rig.name}, ${check}`,
        'Look at the photometer, then check again.',
      );
    }
    const limits = checkLimits(check, rig);
    const { lowLimit, highLimit } = limits;
    return {
      check,
      at: options.wallNow().toISOString(),
      person: options.person,
      ...reading,
      lowLimit,
      highLimit,
      ...judgeCheck(reading, limits),
    };
  };

  return {
    get state() {
      const secondsLeft = Math.max(0, toSeconds(endsAt - clock.now()));
      return { check, stage, secondsLeft, secondsInAll };
    },
    finished: perform(),
    observeReading(reading) {
      if (stage !== 'reading') return;
      if (reading.instrument === rig.photometer && reading.stream === rig.photometerStream) values.push(reading.value);
    },
    cancel() {
      cancellation.abort();
      cancelTimer?.();
      wake?.();
    },
  };
}
