import { describe, expect, it } from 'vitest';
import { short } from '../../../../drivers/virtual-rig/scenarios/short.ts';
import { followToEnd } from '../../../../src/host/runtime/trial-ending.ts';
import type { TrialRecorder } from '../../../../src/host/store/contract.ts';
import { ChambersideError } from '../../../../src/model/error-code.ts';
import type { Alarm } from '../../../../src/safety/limits.ts';
import { compileSchedule } from '../../../../src/series/compile.ts';
import { prepareMachine } from '../../../../src/trial/machine-state.ts';

const left: Alarm = {
  alarm: 'valve-late',
  instrument: 'selector',
  detail: 'late',
  raisedAtMicroseconds: 5,
  clearedAtMicroseconds: null,
  acknowledged: false,
};

interface Settleable {
  readonly promise: Promise<never>;
  resolve(): void;
  reject(error: unknown): void;
}

function settleable(): Settleable {
  let resolve: () => void = () => undefined;
  let reject: (error: unknown) => void = () => undefined;
  const promise = new Promise<void>((resolveIt, rejectIt) => {
    resolve = resolveIt;
    reject = rejectIt;
  });
  return { promise: promise as Promise<never>, resolve, reject };
}

/** A trial that runs; what is done to it is told in order. */
function runningTrial(finishFails = false, notGivenBack: string | null = null) {
  const told: string[] = [];
  const finished = settleable();
  const failed = settleable();
  const afterDone = settleable();
  failed.promise.catch(() => undefined);
  const telling = (what: string) => () => {
    told.push(what);
    return Promise.resolve();
  };
  const recorder = { abandon: telling('recorder abandoned') };
  const ending = followToEnd({
    session: {
      finished: finished.promise,
      failed: failed.promise,
      alarms: [left],
      machine: { ...prepareMachine(compileSchedule(short.series, short.rig)), phase: 'running' },
      command(action) {
        told.push(action);
        return { accepted: true };
      },
      end: telling('session ended'),
    },
    recorder: recorder as unknown as TrialRecorder,
    afterDone: () => afterDone.promise,
    async finish(_recorder, tell) {
      told.push('sealed');
      await Promise.resolve();
      if (finishFails) throw new ChambersideError('disk-full', 'no room to seal', 'a.chamberside', 'Free some space.');
      tell('assessing');
    },
    abandon: () => telling('abandoned')().then(() => notGivenBack),
    now: () => 7,
    onStopped: () => void told.push('stopped'),
    onLeft: () => void told.push('left'),
    onChange: () => undefined,
  });
  return { ending, told, finished, failed, afterDone, followed: ending.follow() };
}

const settled = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
const broken = new ChambersideError('internal', 'the conductor stumbled', 'the trial', 'Report it.');

describe('the end of a trial', () => {
  it('waits, recording, for the list of after the trial, then seals and assesses', async () => {
    const { ending, told, finished, afterDone, followed } = runningTrial();
    finished.resolve();
    await settled();
    expect(ending).toMatchObject({ state: 'no', recording: true });
    expect(told).toEqual([]);
    afterDone.resolve();
    await followed;
    expect(told).toEqual(['session ended', 'stopped', 'sealed', 'left']);
    expect(ending).toMatchObject({ state: 'done', recording: false, failure: null, alarms: [left] });
  });

  it('is left unfinished, and says so, when the session fails while it runs', async () => {
    const { ending, told, finished, followed } = runningTrial();
    finished.reject(broken);
    await followed;
    expect(told).toEqual(['session ended', 'stopped', 'abandoned']);
    expect(ending).toMatchObject({ state: 'failed', failure: 'the conductor stumbled (the trial). Report it.' });
    expect(ending.alarms.at(-1)).toMatchObject({ alarm: 'trial-failed', raisedAtMicroseconds: 7, acknowledged: false });
    expect(ending.acknowledgeLeft('trial-failed', null)).toBe(true);
    expect(ending.alarms.at(-1)).toMatchObject({ acknowledged: true });
  });

  it('says where its study went when that could not be closed at its place either', async () => {
    const { ending, finished, followed } = runningTrial(false, 'What was recorded is in a copy (copy). Move it.');
    finished.reject(broken);
    await followed;
    expect(ending.failure).toBe(
      'the conductor stumbled (the trial). Report it. What was recorded is in a copy (copy). Move it.',
    );
  });

  it('does not wait for a list when the session fails after the last exercise', async () => {
    const { ending, told, finished, failed, followed } = runningTrial();
    finished.resolve();
    await settled();
    failed.reject(broken);
    await followed;
    expect(told).toContain('abandoned');
    expect(ending.state).toBe('failed');
  });

  it('abandons nothing when it cannot be sealed: all is recorded, and can be sealed later', async () => {
    const { ending, told, finished, afterDone, followed } = runningTrial(true);
    finished.resolve();
    afterDone.resolve();
    await followed;
    expect(told).not.toContain('abandoned');
    expect(ending).toMatchObject({ state: 'failed', failure: 'no room to seal (a.chamberside). Free some space.' });
    expect(ending.alarms).toEqual([left]);
  });

  it('is held and left unfinished when the host ends, and not sealed behind its back', async () => {
    const { ending, told, finished, afterDone, followed } = runningTrial();
    await ending.interrupt('the host ends');
    finished.resolve();
    afterDone.resolve();
    await followed;
    expect(told).toEqual(['hold', 'session ended', 'stopped', 'recorder abandoned', 'left']);
    expect(ending).toMatchObject({ state: 'no', recording: false, failure: null });
  });

  it('is no longer interrupted once it is sealed', async () => {
    const { ending, told, finished, afterDone, followed } = runningTrial();
    finished.resolve();
    afterDone.resolve();
    await followed;
    const before = told.length;
    await ending.interrupt('the host ends');
    expect(told).toHaveLength(before);
  });

  it('leaves an alarm of the running trial to the record, and takes one that was left over', async () => {
    const { ending, finished, afterDone, followed } = runningTrial();
    expect(ending.acknowledgeLeft('valve-late', 'selector')).toBe(false);
    finished.resolve();
    afterDone.resolve();
    await followed;
    expect(ending.acknowledgeLeft('valve-late', 'selector')).toBe(true);
    expect(ending.alarms).toEqual([]);
  });
});
