// @vitest-environment jsdom
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { renderHook } from '@testing-library/react';
import { beforeEach, describe, expect, it, vi } from 'vitest';
import type { Client, Connection } from '../../../../renderer/app/connection.ts';
import { createSampleChannel } from '../../../../renderer/app/sample-channel.ts';
import { trialCommands, type TrialCommands } from '../../../../renderer/trial/commands.ts';
import { consoleState } from '../../../../renderer/trial/console-state.ts';
import { pressTrialKey, useTrialKeys } from '../../../../renderer/trial/use-trial-keys.ts';
import type { AlarmView, Snapshot } from '../../../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../../../src/bridge/trial-snapshot.ts';
import { afterLines } from '../../../../src/trial/after.ts';
import { beforeLines } from '../../../../src/trial/before.ts';
import type { BeforeAnswers } from '../../../../src/trial/before.ts';
import { madeUpTrial, trialDay } from '../../../support/screens/made-up-trial.ts';
import { middle } from '../../../support/screens/scenes.ts';

const alarm: AlarmView = {
  alarm: 'heart-rate-high',
  title: null,
  instrument: 'belt',
  priority: 'high',
  detail: '154 /min, 4 above the limit of 150 for 6 s.',
  action: 'Ask the subject to slow down, or stop.',
  raisedAt: '2026-11-25T10:22:50.000Z',
  lastedSeconds: null,
  acknowledged: false,
};
const lower = (name: string): AlarmView => ({ ...alarm, alarm: name, priority: 'medium' });

const running = madeUpTrial(middle, { allowed: ['hold', 'mark', 'repeat', 'skip', 'stop', 'close'] });
const held = madeUpTrial(middle, { phase: 'held', allowed: ['go-on', 'mark', 'stop', 'close', 'valve'] });
const closed = madeUpTrial(middle, { phase: 'closed', allowed: [] });

let done: string[] = [];
const commands: TrialCommands = {
  send: (action) => done.push(action),
  space: () => done.push('space'),
  arm: (action) => done.push(`arm ${action}`),
  extendRest: () => done.push('extend rest'),
  enter: () => done.push('enter'),
  stop: () => done.push('stop'),
  mark: () => done.push('mark with note'),
  answer: (item, answer, second) => done.push(`${item} ${answer} ${second ?? '-'}`),
  answerAfter: (item, answer, note) => done.push(`${item} ${answer} ${note}`),
  acknowledge: (name, instrument, reason) => done.push(`acknowledge ${name} of ${instrument ?? '-'}: ${reason}`),
  selectPort: (port) => done.push(`port ${port}`),
};

interface Where {
  readonly inText?: boolean;
  readonly onControl?: boolean;
  readonly elsewhere?: boolean;
}

function press(key: string, trial: TrialSnapshot, alarms: AlarmView[] = [], where: Where = {}): boolean {
  const { inText = false, onControl = false, elsewhere = false } = where;
  const snapshot = trialDay(trial, { alarms });
  return pressTrialKey({ key, inText, onControl, onConsole: !elsewhere }, snapshot, commands);
}

beforeEach(() => {
  done = [];
  consoleState.setState({ armed: null, panel: null, oneAxis: false, refusal: null });
});

describe('keys of a trial', () => {
  it.each([{}, { inText: true }, { elsewhere: true }, { elsewhere: true, inText: true }, { onControl: true }])(
    'stops by End, %o, with a panel open',
    (where) => {
      consoleState.setState({ panel: { kind: 'mark', atMicroseconds: 0 } });
      expect(press('End', running, [], where)).toBe(true);
      expect(done).toEqual(['stop']);
    },
  );

  it('leaves End to the text field when the trial is closed', () => {
    expect(press('End', closed, [], { inText: true })).toBe(false);
    expect(done).toEqual([]);
  });

  it('types letters and spaces into text', () => {
    for (const key of ['a', 'm', ' ', '1', 'Enter']) expect(press(key, running, [alarm], { inText: true })).toBe(false);
    expect(done).toEqual([]);
  });

  it('acknowledges by the reason behind the figure, in its words', () => {
    press('A', running, [alarm]);
    press('2', running, [alarm]);
    expect(done).toEqual(['acknowledge heart-rate-high of belt: Subject asked and well']);
  });

  it('acknowledges after the trial is closed, too', () => {
    press('a', closed, [alarm]);
    press('6', closed, [alarm]);
    expect(done).toEqual(['acknowledge heart-rate-high of belt: Other']);
  });

  it('gives letters to alarms that are seen, and to no other', () => {
    const four = [alarm, lower('wrong-port'), lower('commit-late'), lower('contact-lost')];
    expect(press('b', running, four)).toBe(true);
    expect(press('c', running, four)).toBe(false);
    expect(press('c', running, four.slice(0, 3))).toBe(true);
  });

  it('acknowledges the one alarm that the strip shows, without a list that nobody would see', () => {
    expect(press('a', running, [lower('wrong-port'), alarm], { elsewhere: true })).toBe(true);
    expect(done).toEqual(['acknowledge heart-rate-high of belt: Seen, dealing with it']);
    expect(press('b', running, [lower('wrong-port'), alarm], { elsewhere: true })).toBe(false);
    expect(consoleState.getState().panel).toBeNull();
  });

  it('has keys on every screen that no control of another screen has', () => {
    const letters = Array.from({ length: 95 }, (_, index) => String.fromCharCode(32 + index));
    const alarms = [alarm, lower('wrong-port'), lower('commit-late'), lower('contact-lost')];
    const acts = [...letters, 'Enter', 'Escape', 'End', 'Home', 'Delete'].filter((key) =>
      [running, held, closed].some((trial) => press(key, trial, alarms, { elsewhere: true })),
    );
    expect(acts).toEqual([' ', 'A', 'a', 'End']);
    // Of the other alarms the keys mean something on the console: nobody should have to know where they are.
    const taken = new Set(['space', ...[...acts, 'b', 'c', 'd'].map((key) => key.toLowerCase())]);
    const folder = join(import.meta.dirname, '../../../../renderer');
    const files = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter(
      (file) => file.endsWith('.tsx') && !file.startsWith('trial/'),
    );
    const found = files.flatMap((file) => {
      const text = readFileSync(join(folder, file), 'utf8');
      const given = [...text.matchAll(/hotkey="([^"]+)"|useHotkey\(\s*'([^']+)'/g)].map(([, a, b]) => a ?? b ?? '');
      // Where the key of a control is computed, every short text may be one.
      const computed = /hotkey=\{|useHotkey\(\s*[^'\s]/.test(text) ? [...text.matchAll(/'([^'\s]{1,3})'/g)] : [];
      return [...given, ...computed.map(([, key = '']) => key)].map((key) => ({ file, key }));
    });
    expect(found.length).toBeGreaterThan(40);
    expect(found.filter(({ key }) => taken.has(key.toLowerCase()))).toEqual([]);
  });

  it('holds from another screen', () => {
    expect(press(' ', running, [], { elsewhere: true })).toBe(true);
    expect(done).toEqual(['hold']);
    expect(press(' ', running, [], { elsewhere: true, onControl: true })).toBe(false);
  });

  it('never goes on from another screen, where the first of two keys is not seen', () => {
    expect(press(' ', held, [], { elsewhere: true })).toBe(false);
    consoleState.setState({ armed: 'go-on' });
    expect(press('Enter', held, [], { elsewhere: true })).toBe(false);
    expect(done).toEqual([]);
  });

  it('goes on by two keys on the console', () => {
    expect(press(' ', held)).toBe(true);
    expect(press('Enter', held)).toBe(false);
    consoleState.setState({ armed: 'go-on' });
    expect(press('Enter', held)).toBe(true);
    expect(done).toEqual(['space', 'enter']);
  });

  it('arms what ends an exercise by its letter, and does it by the second key', () => {
    for (const key of ['R', 'n']) expect(press(key, running)).toBe(true);
    expect(done).toEqual(['arm repeat', 'arm skip']);
    consoleState.setState({ armed: 'skip' });
    expect(press('Enter', running)).toBe(true);
    expect(done.at(-1)).toBe('enter');
  });

  it('lengthens a rest by one key on the console, and the host says why not outside of one', () => {
    const rest = madeUpTrial(middle, { allowed: ['hold', 'extend-rest', 'stop'] });
    for (const key of ['e', 'E']) expect(press(key, rest)).toBe(true);
    expect(press('e', running)).toBe(true);
    expect(done).toEqual(['extend rest', 'extend rest', 'extend rest']);
    expect(press('e', rest, [], { elsewhere: true })).toBe(false);
    expect(press('e', rest, [], { inText: true })).toBe(false);
    expect(press('e', closed)).toBe(false);
    expect(done).toHaveLength(3);
  });

  it.each(['acknowledge', 'valve'] as const)('does nothing but hold and stop beside the figures of: %s', (kind) => {
    const panel = kind === 'valve' ? { kind } : { kind, alarm: alarm.alarm, instrument: alarm.instrument };
    for (const trial of [running, held]) {
      consoleState.setState({ armed: 'go-on', panel });
      for (const key of ['r', 'n', 'e', 'm', 'v', 'l', 'Enter']) expect(press(key, trial)).toBe(false);
      expect(consoleState.getState()).toMatchObject({ oneAxis: false, panel: { kind } });
    }
    expect(press(' ', held)).toBe(false);
    expect(done).toEqual([]);
    expect(press(' ', running)).toBe(true);
    expect(press('End', running)).toBe(true);
    expect(done).toEqual(['space', 'stop']);
  });

  it('forgets the first of two keys when a panel opens over where it is seen', () => {
    for (const [key, alarms] of [['a', [alarm]], ['v', []]] as const) {
      consoleState.setState({ armed: 'go-on', panel: null });
      press(key, held, [...alarms]);
      expect(consoleState.getState().armed).toBeNull();
    }
  });

  it('moves the valve by the figures of its ports, and by no other', () => {
    consoleState.setState({ panel: { kind: 'valve' } });
    expect(press('3', held)).toBe(true);
    expect(press('9', held)).toBe(false);
    expect(press('0', held)).toBe(false);
    expect(done).toEqual(['port 3']);
  });

  it('confirms by their figures what stands open before the start, and asks who has seen it where two answer', () => {
    const trial = madeUpTrial(0, { phase: 'prepared', before: beforeLines(new Map(), true) });
    for (const key of ['1', '3']) expect(press(key, trial)).toBe(true);
    expect(done).toEqual(['clearance confirmed -', 'well confirmed -']);
    expect(press('8', trial)).toBe(false);
    // A contact answers for itself.
    expect(press('7', trial)).toBe(true);
    expect(press('4', trial)).toBe(true);
    expect(consoleState.getState().panel).toEqual({ kind: 'before', item: 'ensemble', answer: 'confirmed' });
    const [first, second] = trialDay(trial).people.filter(({ code }) => code !== trialDay(trial).person?.code);
    expect(press('2', trial)).toBe(second !== undefined);
    expect(press('1', trial)).toBe(true);
    expect(done.slice(2)).toContain(`ensemble confirmed ${first?.code}`);
    expect(done).toHaveLength(second === undefined ? 3 : 4);
    expect(press('1', trial, [], { elsewhere: true })).toBe(false);
  });

  it('answers the list of after the trial by its figures, also when it is closed, and stops nothing then', () => {
    const measured = { recovery: { verdict: 'doubt', text: 'not back' } } as const;
    const trial = madeUpTrial(middle, { phase: 'closed', allowed: [], after: afterLines(new Map(), measured) });
    expect(press('2', trial)).toBe(true);
    expect(done).toEqual(['symptoms confirmed ']);
    // What was measured is not good: what was found is asked for.
    expect(press('1', trial)).toBe(true);
    expect(consoleState.getState().panel).toEqual({ kind: 'after', item: 'recovery', answer: 'noted' });
    expect(press('End', trial)).toBe(false);
    expect(done).toHaveLength(1);
  });

  it('does not take a figure of the list twice, nor while a reason is written', () => {
    const answered: BeforeAnswers = new Map([
      ['clearance', { answer: 'confirmed', persons: ['KL'], note: '', atMicroseconds: 0 }],
    ]);
    const trial = madeUpTrial(0, { phase: 'prepared', before: beforeLines(answered, true) });
    press('1', trial);
    consoleState.setState({ panel: { kind: 'before', item: 'well', answer: 'passed-over' } });
    press('1', trial);
    press('3', trial, [], { inText: true });
    expect(done).toEqual([]);
  });

  it('closes what is open by Esc: first the panel, then a refusal; never holds or stops', () => {
    const refusal = { code: 'x', what: 'It is not time', where: 'trial', remedy: 'Wait.' };
    consoleState.setState({ panel: { kind: 'valve' }, refusal });
    expect(press('Escape', held)).toBe(true);
    expect(consoleState.getState()).toMatchObject({ panel: null, refusal });
    expect(press('Escape', held)).toBe(true);
    expect(consoleState.getState().refusal).toBeNull();
    expect(press('Escape', held)).toBe(false);
    expect(done).toEqual([]);
  });

  it('does nothing for letters that are not allowed now', () => {
    const commandsNow = trialCommands(
      {} as Connection,
      () => trialDay(madeUpTrial(middle, { allowed: ['hold'] })),
      () => null,
    );
    for (const action of ['repeat', 'skip'] as const) commandsNow.arm(action);
    expect(consoleState.getState().armed).toBeNull();
    press('v', madeUpTrial(middle, { allowed: ['hold'] }));
    expect(done).toEqual([]);
    expect(consoleState.getState().panel).toBeNull();
  });
});

describe('a trial at which nobody has said that they are', () => {
  const nobody = (trial: TrialSnapshot): string[] => {
    const asked: string[] = [];
    const connection = {
      offsetMilliseconds: () => null,
      ask: async (call: (client: Client) => Promise<unknown>) => {
        const command = async ({ action }: { action: string }): Promise<void> => void asked.push(action);
        return { done: true, value: await call({ trial: { command } } as unknown as Client) };
      },
    } as unknown as Connection;
    const hands = trialCommands(
      connection,
      () => trialDay(trial, { person: null }),
      () => null,
    );
    hands.space();
    hands.arm('repeat');
    hands.enter();
    hands.extendRest();
    hands.stop();
    return asked;
  };

  it('arms nothing, and says why; it can be held and stopped all the same', () => {
    expect(nobody(held)).toEqual(['stop']);
    expect(consoleState.getState()).toMatchObject({ armed: null, refusal: { code: 'person-missing' } });
    expect(nobody(running)).toEqual(['hold', 'stop']);
  });
});

describe('the key for a longer rest', () => {
  it('means the rest that was seen: with its exercise, and the difference of the clocks', () => {
    const asked: unknown[] = [];
    const connection = {
      offsetMilliseconds: () => 12,
      ask: async (call: (client: Client) => Promise<unknown>) => {
        const command = (sent: object): Promise<void> => Promise.resolve(void asked.push(sent));
        return { done: true, value: await call({ trial: { command } } as unknown as Client) };
      },
    } as unknown as Connection;
    trialCommands(
      connection,
      () => trialDay(running),
      () => null,
    ).extendRest();
    const { trial, now } = running;
    const more = { note: '', windowOffsetMilliseconds: 12 };
    expect(asked).toEqual([{ trial, action: 'extend-rest', exercise: now.exercise, ...more }]);
    expect(now.exercise).not.toBeNull();
  });
});

describe('the second of two keys', () => {
  it('means the exercise of the first, and is worth nothing after a hold', async () => {
    const asked: unknown[] = [];
    const command = (call: object): Promise<object> => {
      asked.push(call);
      return Promise.resolve({});
    };
    const connection = {
      offsetMilliseconds: () => null,
      ask: async (call: (client: Client) => Promise<unknown>) => ({
        done: true,
        value: await call({ trial: { command } } as unknown as Client),
      }),
    } as unknown as Connection;
    let trial = running;
    const hands = trialCommands(
      connection,
      () => trialDay(trial),
      () => null,
    );
    const meant = running.now.exercise;
    hands.arm('skip');
    trial = { ...running, now: { ...running.now, exercise: 'another' } };
    hands.enter();
    hands.arm('repeat');
    hands.space();
    hands.enter();
    expect(asked).toMatchObject([
      { action: 'skip', exercise: meant },
      { action: 'hold', exercise: null },
    ]);
    expect(meant).not.toBeNull();
  });
});

describe('a key that is held down', () => {
  /** What the host is asked for while `snapshot` stands. */
  function listen(snapshot: Snapshot): string[] {
    const asked: string[] = [];
    const command = ({ action }: { action: string }): Promise<object> => {
      asked.push(action);
      return Promise.resolve({});
    };
    const client = { trial: { command } } as unknown as Client;
    const connection: Connection = {
      state: { getState: () => ({ snapshot, host: 'here' }) } as Connection['state'],
      samples: createSampleChannel(() => undefined),
      offsetMilliseconds: () => null,
      ask: async (call) => ({ done: true, value: await call(client) }),
    };
    window.location.hash = '/trial';
    renderHook(() => useTrialKeys(connection, snapshot));
    return asked;
  }

  it('is pressed once, and never reaches the control that has the focus', () => {
    const asked = listen(trialDay(running));
    const button = document.body.appendChild(document.createElement('button'));
    const reached = vi.fn();
    button.addEventListener('keydown', reached);
    button.addEventListener('keyup', reached);
    const fire = (type: string, repeat: boolean): boolean =>
      button.dispatchEvent(new KeyboardEvent(type, { key: ' ', repeat, bubbles: true, cancelable: true }));
    expect([fire('keydown', false), fire('keydown', true), fire('keydown', true), fire('keyup', false)]).toEqual([
      ...[false, false, false, false],
    ]);
    expect(reached).not.toHaveBeenCalled();
    expect(asked).toEqual(['hold']);
    button.remove();
  });
});
