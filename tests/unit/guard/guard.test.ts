import { describe, expect, it } from 'vitest';
import { createGuardFrameReader, encodeGuardFrame } from '../../../src/safety/guard/frame.ts';
import { fromGuardSchema } from '../../../src/safety/guard/messages.ts';
import type { FromGuard } from '../../../src/safety/guard/messages.ts';
import { guardBench as bench, token } from '../../support/guard/played-guard.ts';

describe('a guard', () => {
  it('passes bytes both ways while the host lives', async () => {
    const { run, loaded, ended } = bench();
    const host = await loaded();
    await run(1.2);
    host.beat();
    await run(2.1);
    expect(host.texts.get(0)).toContain('ok power 150\n');
    expect(host.texts.get(0)).toContain('ergo 100 W');
    expect(host.heard.filter(({ say }) => say === 'opened')).toHaveLength(2);
    expect(ended()).toBe(0);
  });

  it('sets the load to zero and turns the valve 1 s after the last beat', async () => {
    const { run, loaded, acts, book } = bench();
    const host = await loaded();
    await run(1.499);
    expect(acts).toEqual([]);
    await run(3);
    expect(acts).toEqual([
      [1.5, '0 W'],
      [1.5, 'port 7'],
    ]);
    const reported = host.heard.flatMap((message) => (message.say === 'report' ? [message.report] : []));
    expect(reported).toHaveLength(1);
    expect(reported[0]).toMatchObject({
      why: 'the program did not answer for 1 s',
      done: true,
      acts: [
        { instrument: 'bike', tries: 1, failure: null },
        { instrument: 'valve', tries: 1, failure: null },
      ],
    });
    expect(host.heard.filter(({ say }) => say === 'closed')).toHaveLength(2);
    expect([...book.keys()]).toEqual(['report-1']);
    host.say({ say: 'noted', reports: ['report-1'] });
    expect(book.size).toBe(0);
  });

  it('writes what it has begun, so that a guard which is killed meanwhile leaves it on a card', async () => {
    const { run, loaded, bike, book } = bench();
    await loaded();
    bike.inject({ fault: 'silence', seconds: 9 });
    await run(1.6);
    expect(book.get('report-1')).toMatchObject({
      done: false,
      acts: [
        { instrument: 'bike', tries: 0, acknowledgedAfterMilliseconds: null },
        { instrument: 'valve', tries: 0 },
      ],
    });
  });

  it('does not let the host at the load until it opens the line again', async () => {
    const { run, loaded, acts } = bench();
    const host = await loaded();
    await run(3);
    acts.length = 0;
    host.write(0, 'power 150\n');
    await run(3.2);
    expect(acts).toEqual([]);
    host.beat();
    host.open(2, 'bike');
    await run(3.3);
    host.write(2, 'power 100\n');
    await run(3.4);
    expect(acts.map(([, what]) => what)).toEqual(['100 W']);
    await run(6);
    // It is watched as before; the valve's line, which the host left with the guard, too.
    expect(acts.map(([, what]) => what)).toEqual(['100 W', '0 W', 'port 7']);
  });

  it('does the same at once when the host has gone, gives the ports back and ends', async () => {
    const { run, loaded, acts, ended, cables, book } = bench();
    const host = await loaded();
    await run(0.7);
    host.gone();
    await run(2);
    expect(acts).toEqual([
      [0.7, '0 W'],
      [0.7, 'port 7'],
    ]);
    expect(ended()).toBe(1);
    expect(book.get('report-1')).toMatchObject({ why: 'the program has ended', done: true });
    cables.get('bike')?.instrument.close();
  });

  it('asks again when nothing acknowledges, three times and then every 2 s', async () => {
    const { run, loaded, acts, bike, book, ended } = bench();
    const host = await loaded();
    // Hears, and says nothing for a while.
    bike.inject({ fault: 'silence', seconds: 0.9 });
    host.gone();
    await run(6);
    expect(acts.filter(([, what]) => what === '0 W').length).toBeGreaterThanOrEqual(2);
    expect(book.get('report-1')?.acts[0]).toMatchObject({ instrument: 'bike', tries: 2, failure: null });
    expect(ended()).toBe(1);

    const other = bench();
    const second = await other.loaded();
    other.bike.inject({ fault: 'silence', seconds: 6 });
    second.gone();
    await other.run(4.5);
    expect(other.ended()).toBe(0);
    expect(other.book.get('report-1')?.acts[0]).toMatchObject({ tries: 3, acknowledgedAfterMilliseconds: null });
    await other.run(20);
    expect(other.book.get('report-1')?.acts[0]).toMatchObject({ failure: null });
    expect(other.ended()).toBe(1);
  });

  it('opens a port again whose cable was out when the host went', async () => {
    const { run, loaded, acts, cables, missing, book } = bench();
    const host = await loaded();
    missing.add('bike');
    cables.get('bike')?.instrument.close();
    await run(0.6);
    host.gone();
    await run(0.75);
    missing.clear();
    await run(2);
    expect(acts.map(([, what]) => what).sort()).toEqual(['0 W', 'port 7']);
    expect(book.get('report-1')?.acts.find(({ instrument }) => instrument === 'bike')?.tries).toBeGreaterThan(1);
  });

  it('does not blame the host for having stood still itself', async () => {
    const { run, loaded, acts, whenLate } = bench();
    const host = await loaded();
    whenLate(() => host.beat());
    await run(2);
    expect(acts).toEqual([]);
  });

  it('gives no line back with a load on it', async () => {
    const { run, loaded, acts, ended } = bench();
    const host = await loaded();
    host.say({ say: 'close', line: 1 });
    host.say({ say: 'close', line: 0 });
    await run(1);
    expect(acts.map(([, what]) => what)).toEqual(['0 W']);
    expect(host.heard.filter(({ say }) => say === 'closed')).toHaveLength(2);
    host.say({ say: 'release' });
    await run(1.1);
    expect(ended()).toBe(1);
    expect(host.hungUp()).toBe(true);
  });

  it('sets a load to zero before it hands it over, after another guard was lost', async () => {
    const { run, join, acts, cables } = bench();
    const host = join('guard', token, true);
    host.open(0, 'bike');
    await run(0.2);
    expect(acts.map(([, what]) => what)).toEqual(['0 W']);
    expect(host.heard.at(-1)).toMatchObject({ say: 'opened', line: 0 });
    host.write(0, 'power 50\n');
    await run(0.3);
    expect(acts.map(([, what]) => what)).toEqual(['0 W', '50 W']);
    expect(host.texts.get(0)).toBe('ok power 50\n');
    expect(cables.size).toBe(1);
  });

  it('tries a load on that was not acknowledged while the host steers the rest again', async () => {
    const { run, loaded, bike, book } = bench();
    const host = await loaded();
    bike.inject({ fault: 'silence', seconds: 9 });
    await run(6);
    expect(book.get('report-1')?.acts[0]).toMatchObject({ instrument: 'bike', failure: expect.any(String) as string });
    const beats = async (until: number) => {
      for (let at = 6; at < until; at += 0.5) {
        host.beat();
        await run(at + 0.5);
      }
    };
    host.open(2, 'valve');
    await beats(14);
    // Tried on by itself, and reported when it was acknowledged.
    const again = host.heard.flatMap((said) => (said.say === 'report' ? [said.report] : [])).at(-1);
    expect(again).toMatchObject({ acts: [{ instrument: 'bike', failure: null }] });
    expect(host.heard.filter(({ say }) => say === 'opened').at(-1)).toMatchObject({ line: 2, rested: true });
  });

  it('hands a line over that would not go to zero, says so, and sets it to zero when it is opened again', async () => {
    const { run, join, acts, bike } = bench();
    bike.inject({ fault: 'silence', seconds: 5 });
    const host = join('guard', token, true);
    const beats = async (from: number, until: number) => {
      for (let at = from; at < until; at += 0.5) {
        host.beat();
        await run(at + 0.5);
      }
    };
    host.open(0, 'bike');
    await beats(0, 6);
    expect(host.heard.filter(({ say }) => say === 'opened')).toMatchObject([{ line: 0, rested: false }]);
    acts.length = 0;
    host.open(1, 'bike');
    await beats(6, 7);
    expect(acts.map(([, what]) => what)).toEqual(['0 W']);
    expect(host.heard.at(-1)).toMatchObject({ say: 'opened', line: 1, rested: true });
  });

  it('watches a load from when its port is open, before it is handed over', async () => {
    const { run, join, bike, book, ended } = bench();
    bike.inject({ fault: 'silence', seconds: 3 });
    const host = join('guard', token, true);
    host.open(0, 'bike');
    await run(0.5);
    host.gone();
    await run(10);
    const parked = [...book.values()].find(({ why }) => why === 'the program has ended');
    expect(parked?.acts).toMatchObject([{ instrument: 'bike', failure: null }]);
    expect(ended()).toBe(1);
  });

  it('still sets a load to zero whose line could not be opened again', async () => {
    const { run, loaded, acts, missing, book } = bench();
    const host = await loaded();
    missing.add('bike');
    host.open(2, 'bike');
    await run(0.7);
    expect(host.heard.at(-1)).toMatchObject({ say: 'not-opened', line: 2 });
    host.gone();
    await run(0.75);
    missing.clear();
    await run(4);
    expect(acts.map(([, what]) => what).sort()).toEqual(['0 W', 'port 7']);
    expect(book.get('report-1')?.acts.find(({ instrument }) => instrument === 'bike')).toMatchObject({ failure: null });
  });

  it('refuses whoever does not know its token, and a second host', async () => {
    const { loaded, join, run, ended } = bench();
    const stranger = join('guard', 'another token, as long');
    expect(stranger.heard).toMatchObject([{ say: 'refused' }]);
    expect(stranger.hungUp()).toBe(true);
    await loaded();
    expect(join().heard).toMatchObject([{ say: 'refused', why: 'a host has these ports' }]);
    expect(join('take-back').heard).toMatchObject([{ say: 'refused' }]);
    await run(0.6);
    expect(ended()).toBe(0);
  });

  it('refuses a duty at once that it could never do', () => {
    const { guard } = bench();
    for (const wrong of [
      { kind: 'ergometer', dialect: 'smoke-signals', settings: {} },
      { kind: 'ergometer', dialect: 'lines', settings: { highestPower: 'much' } },
      { kind: 'climate', dialect: 'lines', settings: {} },
    ]) {
      const heard: FromGuard[] = [];
      const read = createGuardFrameReader();
      const peer = guard.connect({
        send(bytes) {
          for (const frame of read(bytes) ?? []) {
            if (frame.frame === 'message') heard.push(fromGuardSchema.parse(frame.message));
          }
        },
        end: () => undefined,
      });
      const duty = { instrument: 'bike', act: { act: 'rest' }, ...wrong } as const;
      const hello = { say: 'hello', token, purpose: 'guard', duties: [duty], restFirst: false };
      peer.receive(encodeGuardFrame({ frame: 'message', message: hello }));
      expect(heard).toMatchObject([{ say: 'refused' }]);
    }
  });

  it('finishes and ends when the next host takes the ports back', async () => {
    const { loaded, join, run, ended, bike, acts } = bench();
    const host = await loaded();
    bike.inject({ fault: 'silence', seconds: 60 });
    host.gone();
    await run(1);
    join('take-back');
    expect(ended()).toBe(0);
    await run(5);
    expect(ended()).toBe(1);
    expect(acts.filter(([, what]) => what === '0 W').length).toBeGreaterThanOrEqual(2);
  });

  it('takes what cannot be understood for the end of the host', async () => {
    const { loaded, run, acts, ended } = bench();
    const host = await loaded();
    host.receive(new Uint8Array([255, 255, 255, 255]));
    await run(2);
    expect(acts.map(([, what]) => what)).toEqual(['0 W', 'port 7']);
    expect(ended()).toBe(1);
  });

  it('says what it cannot open', async () => {
    const { join, missing, run } = bench();
    missing.add('bike');
    const host = join();
    host.open(0, 'bike');
    await run(0.1);
    expect(host.heard.at(-1)).toMatchObject({ say: 'not-opened', line: 0, code: 'port-not-found' });
  });
});
