import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { momentOf } from '../../../src/host/runtime/view/alarms.ts';
import { actionOf, type TrialMoment } from '../../../src/safety/alarm-catalogue.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import { prepareMachine, type TrialMachine } from '../../../src/trial/machine-state.ts';

const alarms = ['heart-rate-high', 'contact-lost', 'valve-unconfirmed', 'silence-heart-rate', 'connection-lost'];
const schedule = compileSchedule(demo.series, demo.rig);
const prepared = prepareMachine(schedule);
const at = (stage: string, change: Partial<TrialMachine> = {}): TrialMachine => {
  const step = schedule.steps.findIndex((one) => one.stage === stage);
  if (step < 0) throw new Error(`the schedule has no ${stage}`);
  return { ...prepared, phase: 'running', cursor: { step, then: null, recovering: false }, ...change };
};

describe('what an alarm says is to be done', () => {
  it.each(alarms)('names no exercise to hold or repeat, and no next rest, where there is none: %s', (alarm) => {
    for (const moment of ['before-exercises', 'after-exercises'] as const) {
      expect(actionOf(alarm, moment)).not.toMatch(/(?:hold|repeat) the exercise|next rest/i);
    }
  });

  it('is to repeat the exercise once there is one', () => {
    expect(actionOf('valve-unconfirmed', 'exercises')).toContain('Repeat the exercise');
    expect(actionOf('valve-unconfirmed', 'before-exercises')).toContain('Hold the trial');
  });

  const begun = { attempts: prepared.attempts.map((_, index) => (index === 0 ? 1 : 0)) };
  it.each<[string, TrialMachine, TrialMoment]>([
    ['prepared', prepared, 'before-exercises'],
    ['in the background', at('background'), 'before-exercises'],
    ['in the rest before the first exercise', at('rest'), 'before-exercises'],
    ['in an exercise', at('exercise', begun), 'exercises'],
    ['in the rest after one', at('rest', begun), 'exercises'],
    ['held in one', at('exercise', { ...begun, phase: 'held' }), 'exercises'],
    ['at the closing readings', at('closing', begun), 'after-exercises'],
    ['stopped', at('exercise', { ...begun, phase: 'stopped' }), 'after-exercises'],
  ])('knows the moment: %s', (_, machine, moment) => {
    expect(momentOf(machine, schedule)).toBe(moment);
  });
});
