import { describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { trialEventSchema } from '../../../../src/model/trial-event.ts';
import { compileSchedule } from '../../../../src/series/compile.ts';
import { restoreMachine } from '../../../../src/trial/restore.ts';
import { createBench } from './rig.ts';
import type { Bench } from './rig.ts';

const second = 1_000_000;
const filteredAir = 7;

/** Into the first probe dwell of the first exercise, 4 s after it began. */
async function inFirstDwell(bench: Bench): Promise<void> {
  bench.feed(() => 12);
  bench.conductor.command('start', 'p1', '');
  const { firstProbeStep } = bench.schedule.exercises[0]!;
  await bench.clock.runWhile(() => bench.conductor.machine.dwell?.step !== firstProbeStep);
  await bench.clock.advanceTo(bench.clock.now() + 4 * second);
}

describe('the whole demo series', () => {
  it('runs by itself from start to closed, and leaves nothing behind', async () => {
    const bench = createBench();
    bench.feed(() => 12);
    expect(bench.conductor.command('start', 'p1', 'go')).toEqual({ accepted: true });
    await bench.clock.runWhile(() => bench.conductor.machine.phase !== 'closed');
    await bench.conductor.finished;
    expect(bench.failures).toEqual([]);
    expect(bench.of('dwell-began')).toHaveLength(bench.schedule.steps.length);
    for (const event of bench.events) expect(trialEventSchema.safeParse(event).success).toBe(true);
    expect(bench.cues.map((cue) => cue.cue)).toEqual(bench.of('cue').map((event) => event.cue));
    expect(bench.of('challenge-judged')).toMatchObject([{ steady: true, rangePercent: 0, meanReading: 12 }]);

    // What enters the record is when the valve confirmed, not when it was planned to.
    const requested = bench.of('port-requested');
    const acknowledged = bench.of('port-acknowledged');
    expect(acknowledged).toHaveLength(requested.length);
    for (const [index, event] of acknowledged.entries()) {
      expect(event.atMicroseconds).toBe(requested[index]!.atMicroseconds + 150_000);
      expect(event.port).toBe(requested[index]!.port);
    }
    // The steps after the entry follow each other on the plan to the microsecond.
    const later = bench.of('dwell-began').slice(8);
    for (const event of later) {
      expect(event.atMicroseconds - later[0]!.atMicroseconds).toBe(
        bench.schedule.steps[event.dwell.step]!.offsetMicroseconds - bench.schedule.steps[8]!.offsetMicroseconds,
      );
    }
    await bench.conductor.end();
    await bench.clock.advanceTo(bench.clock.now() + second);
    expect(bench.clock.pending).toBe(0);
    expect(bench.conductor.command('mark', 'p1', '')).toMatchObject({ accepted: false });
  });

  it('waits in the entry while the challenge rises, and holds when it never comes', async () => {
    const rising = createBench();
    rising.feed((at) => Math.min(12, (12 * at) / (300 * second)));
    rising.conductor.command('start', 'p1', '');
    await rising.clock.runWhile(() => rising.of('challenge-judged').length === 0);
    // Background 22 + 5 × 18 + 22 s, least entry 60 s: still rising then; level from 300 s, range ≤ 10 % at 282 s.
    expect(rising.of('challenge-judged')).toMatchObject([{ steady: true }]);
    expect(rising.clock.now()).toBeGreaterThan(194 * second);
    expect(rising.clock.now()).toBeLessThan(300 * second);
    await rising.conductor.end();

    const missing = createBench();
    missing.feed(() => 0.02);
    missing.conductor.command('start', 'p1', '');
    await missing.clock.runWhile(() => missing.conductor.machine.phase === 'running');
    expect(missing.conductor.machine.held).toBe('challenge-unsteady');
    expect(missing.of('challenge-judged')).toMatchObject([{ steady: false }]);
    await missing.conductor.end();
  });
});

describe('settling before the judgement', () => {
  it('does not take the rise after the valve moved for the challenge', async () => {
    const series = { ...demo.series, entry: { ...demo.series.entry, minimumSeconds: 20 } };
    const bench = createBench({ series, schedule: compileSchedule(series, demo.rig) });
    bench.feed(() => 12);
    bench.conductor.command('start', 'p1', '');
    await bench.clock.runWhile(() => bench.of('challenge-judged').length === 0);
    const entry = bench.of('dwell-began').at(-2)!;
    expect(entry.dwell.stage).toBe('entry');
    // Valve 0.15 s, settling 0.5 + 0.1 + 7 · 1 s, window 20 s: the first whole second after 27.75 s.
    expect(bench.of('challenge-judged')[0]!.atMicroseconds - entry.atMicroseconds).toBe(28 * second);
    await bench.conductor.end();
  });
});

describe('a valve that misbehaves', () => {
  it('late: the dwell counts from the late acknowledgement', async () => {
    const bench = createBench();
    bench.selector.behaviour = (port) => ({ answer: 'after', microseconds: port === 1 ? 6 * second : 150_000 });
    bench.conductor.command('start', 'p1', '');
    await bench.clock.advanceTo(39 * second);
    expect(bench.of('port-acknowledged').filter((event) => event.dwell === 1)).toMatchObject([
      { atMicroseconds: 28 * second, port: 1 },
    ]);
    expect(bench.of('dwell-ended').map((event) => event.atMicroseconds)).toEqual([22 * second]);
    await bench.conductor.end();
  });

  it('wrong: recorded as unconfirmed, asked again, and the trial goes on', async () => {
    const bench = createBench();
    let wrong = 2;
    bench.selector.behaviour = (port) => {
      if (port !== 1 || wrong === 0) return { answer: 'after', microseconds: 150_000 };
      wrong -= 1;
      return { answer: 'wrong' };
    };
    bench.conductor.command('start', 'p1', '');
    await bench.clock.advanceTo(41 * second);
    expect(bench.of('port-unconfirmed').map((event) => [event.dwell, event.atMicroseconds / second])).toEqual([
      [1, 22],
      [1, 24],
    ]);
    expect(bench.of('port-unconfirmed')[0]?.detail).toContain('port 3');
    expect(bench.of('port-acknowledged').filter((event) => event.dwell === 1)).toMatchObject([
      { atMicroseconds: 26 * second + 150_000 },
    ]);
    expect(bench.of('dwell-ended').filter((event) => event.dwell === 1)).toMatchObject([{ complete: true }]);
    await bench.conductor.end();
  });

  it('never: said at the end of the dwell, the wait withdrawn, the next port asked for on time', async () => {
    const bench = createBench();
    bench.selector.behaviour = (port) =>
      port === 1 ? { answer: 'never' } : { answer: 'after', microseconds: 150_000 };
    bench.conductor.command('start', 'p1', '');
    await bench.clock.advanceTo(41 * second);
    expect(bench.of('port-unconfirmed')).toMatchObject([{ dwell: 1, port: 1, atMicroseconds: 40 * second }]);
    expect(bench.selector.cancelled).toBe(1);
    expect(bench.selector.asked.at(-1)).toEqual({ port: 2, atMicroseconds: 40 * second });
    expect(bench.of('port-acknowledged').at(-1)).toMatchObject({ dwell: 2, port: 2 });
    await bench.conductor.end();
  });

  it('not connected: unconfirmed at once, and used again as soon as it is back', async () => {
    let connected = false;
    const bench: Bench = createBench({ selector: () => (connected ? bench.selector : undefined) });
    bench.conductor.command('start', 'p1', '');
    expect(bench.of('port-unconfirmed')).toMatchObject([{ dwell: 0, detail: 'the selector valve is not connected' }]);
    await bench.clock.advanceTo(3 * second);
    connected = true;
    await bench.clock.advanceTo(5 * second);
    expect(bench.of('port-acknowledged')).toMatchObject([{ dwell: 0, atMicroseconds: 4 * second + 150_000 }]);
    await bench.conductor.end();
  });
});

describe('commands while the valve has not answered', () => {
  it('hold: the wait is withdrawn, the valve parked, and the broken dwell done again after go on', async () => {
    const bench = createBench();
    await inFirstDwell(bench);
    bench.selector.behaviour = (port) =>
      port === filteredAir ? { answer: 'after', microseconds: 150_000 } : { answer: 'never' };
    await bench.clock.advanceTo(bench.clock.now() + 14 * second);
    const broken = bench.of('dwell-began').at(-1)!.dwell;
    expect(bench.conductor.command('hold', 'p1', 'strap slipped')).toEqual({ accepted: true });
    await bench.clock.advanceTo(bench.clock.now() + 10 * second);
    expect(bench.of('port-unconfirmed')).toEqual([]);
    expect(bench.of('port-acknowledged').at(-1)).toMatchObject({ dwell: -1, port: filteredAir });
    expect(bench.of('phase-changed').at(-1)).toMatchObject({ to: 'held', reason: 'strap slipped' });
    bench.selector.behaviour = () => ({ answer: 'after', microseconds: 150_000 });
    bench.conductor.command('go-on', 'p1', 'strap tight');
    await bench.clock.runWhile(() => bench.conductor.machine.dwell?.step !== broken.step);
    expect(
      bench
        .of('dwell-began')
        .slice(-2)
        .map((event) => event.dwell.purpose),
    ).toEqual(['zero', 'probe']);
    expect(bench.of('dwell-began').at(-1)!.dwell).toMatchObject({ probe: broken.probe, attempt: 1 });
    await bench.conductor.end();
  });

  it('stop: at once, filtered air asked for, and nothing but close accepted', async () => {
    const bench = createBench();
    await inFirstDwell(bench);
    bench.selector.behaviour = () => ({ answer: 'never' });
    await bench.clock.advanceTo(bench.clock.now() + 15 * second);
    const at = bench.clock.now();
    bench.conductor.command('stop', 'subject', 'subject said stop');
    expect(bench.cues.at(-1)).toMatchObject({ cue: 'stop', atMicroseconds: at });
    expect(bench.selector.asked.at(-1)).toEqual({ port: filteredAir, atMicroseconds: at });
    expect(bench.conductor.command('go-on', 'p1', '')).toMatchObject({ accepted: false });
    expect(bench.conductor.command('close', 'p1', '')).toEqual({ accepted: true });
    await bench.conductor.finished;
    await bench.conductor.end();
    expect(bench.selector.cancelled).toBe(2);
  });
});

describe('loss of the host', () => {
  it('takes the trial up held at the moment of loss, and brings it to its end', async () => {
    const first = createBench();
    await inFirstDwell(first);
    const lost = first.clock.now();
    await first.conductor.end();
    const restored = restoreMachine(structuredClone(first.events), first.schedule)!;
    const events = [...first.events];
    const again: Bench = createBench({ record: (event) => events.push(event) }, lost + 60 * second);
    again.conductor.resumeFrom(restored, lost);
    expect(again.conductor.machine).toMatchObject({ phase: 'held', held: 'interrupted' });
    const ended = events.find((event) => event.kind === 'dwell-ended' && !event.complete);
    expect(ended).toMatchObject({ atMicroseconds: lost, reason: 'the program was interrupted' });
    again.feed(() => 12);
    again.conductor.command('go-on', 'p1', 'restarted');
    await again.clock.runWhile(() => again.conductor.machine.phase !== 'closed');
    const numbers = events.flatMap((event) => (event.kind === 'dwell-began' ? [event.dwell.dwell] : []));
    expect(numbers).toEqual(numbers.map((_, index) => index));
    // The fresh lead-in and the broken dwell are the two more.
    expect(numbers).toHaveLength(first.schedule.steps.length + 2);
    await again.conductor.end();
  });

  it('has finished at once where the trial was closed before', async () => {
    const first = createBench();
    first.conductor.command('start', 'p1', '');
    first.conductor.command('stop', 'p1', '');
    first.conductor.command('close', 'p1', '');
    const lost = first.clock.now();
    await first.conductor.end();
    const again = createBench({}, lost + 60 * second);
    again.conductor.resumeFrom(restoreMachine(structuredClone(first.events), first.schedule)!, lost);
    expect(again.conductor.machine.phase).toBe('closed');
    const finished = again.conductor.finished.then(() => 'finished');
    const waiting = new Promise((resolve) => setTimeout(resolve, 500, 'waiting'));
    expect(await Promise.race([finished, waiting])).toBe('finished');
    await again.conductor.end();
  });

  it('holds by itself when the program slept over a switch', async () => {
    const bench = createBench();
    bench.conductor.command('start', 'p1', '');
    await bench.clock.advanceTo(10 * second);
    bench.clock.sleepTo(900 * second);
    await bench.clock.advanceTo(900 * second);
    expect(bench.conductor.machine).toMatchObject({ phase: 'held', held: 'late' });
    await bench.conductor.end();
  });
});

describe('a record that fails', () => {
  it('ends the conductor from a timer, through onFailure', async () => {
    let broken = false;
    const bench = createBench({
      record: () => {
        if (broken) throw new Error('disk full');
      },
    });
    bench.conductor.command('start', 'p1', '');
    await bench.clock.advanceTo(second);
    broken = true;
    await bench.clock.advanceTo(30 * second);
    expect(bench.failures).toMatchObject([{ message: 'disk full' }]);
    await bench.conductor.finished;
    expect(bench.clock.pending).toBe(0);
  });

  it('still says stop and still sends the valve to filtered air', async () => {
    let broken = false;
    const bench = createBench({
      record: () => {
        if (broken) throw new Error('disk full');
      },
    });
    bench.conductor.command('start', 'p1', '');
    await bench.clock.advanceTo(30 * second);
    broken = true;
    expect(() => bench.conductor.command('stop', 'p1', '')).toThrow('disk full');
    expect(bench.cues.at(-1)?.cue).toBe('stop');
    expect(bench.selector.asked.at(-1)?.port).toBe(filteredAir);
    await bench.conductor.end();
  });
});

describe('listeners', () => {
  it('may give commands: taken up after what is under way', async () => {
    const bench: Bench = createBench({
      onCue: (cue) => {
        if (cue.cue === 'enter') bench.conductor.command('hold', 'program', 'not ready');
      },
    });
    bench.conductor.command('start', 'p1', '');
    await bench.clock.runWhile(() => bench.conductor.machine.phase === 'running');
    expect(bench.conductor.machine.held).toBe('operator');
    const kinds = bench.events.slice(-6).map((event) => event.kind);
    expect(kinds.indexOf('cue')).toBeLessThan(kinds.indexOf('operator-action'));
    await bench.conductor.end();
  });

  it('tells of every change', () => {
    const phases: string[] = [];
    const bench = createBench({ onChange: (machine) => phases.push(machine.phase) });
    bench.conductor.command('start', 'p1', '');
    bench.conductor.command('hold', 'p1', '');
    expect(phases).toEqual(['running', 'held']);
  });
});
