import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { TrialResponse } from '../../src/leakage/recorded-steps.ts';
import { trialResponse } from '../../src/leakage/recorded-steps.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { isChambersideError } from '../../src/model/error-code.ts';
import { chamberside, chambersideJson, temporaryFolder } from '../support/command-line.ts';
import { rehearse, type PrintedRehearsal } from '../support/rehearsal.ts';

const folder = temporaryFolder();
const study = folder.file('response.chamberside');
let rehearsal: PrintedRehearsal;
beforeAll(async () => {
  rehearsal = await rehearse(study, '--seed', '13', '--speed', '500');
});
afterAll(folder.clear);

describe('response', () => {
  it('finds from a recorded trial what the rig states, within what the rig was drawn from', async () => {
    const found = await chambersideJson<TrialResponse & { agreement: { agrees: boolean }[] }>(
      'response',
      '--study',
      study,
    );
    expect(found.response.repeats).toBeGreaterThanOrEqual(5);
    const { rig } = readTrial(study, rehearsal.trialId);
    const { timeConstantSeconds, transitSeconds } = found.response;
    const drawn = 4 * rig.timeConstantSeconds.standardUncertainty;
    expect(Math.abs(timeConstantSeconds.value - rig.timeConstantSeconds.value)).toBeLessThan(drawn);
    const stated = rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value;
    // The virtual valve confirms 0.05 s after it has arrived; the rest is what the transit was drawn from.
    expect(Math.abs(transitSeconds.value + 0.05 - stated)).toBeLessThan(4 * 0.025);
    const spread = found.steps.map(({ fit }) => fit?.timeConstantSeconds ?? Number.NaN);
    expect(Math.max(...spread) / Math.min(...spread)).toBeLessThan(1.02);
    expect(found.agreement.map(({ agrees }) => agrees)).toEqual([true, true]);
  });

  it('says it in words', async () => {
    const text = await chamberside('response', '--study', study);
    expect(text.status).toBe(0);
    expect(text.stdout).toMatch(/^VIRTUAL RIG/);
    expect(text.stdout).toMatch(/time constant: .* they agree/);
  });

  it('refuses a rig without bypass, a trial without readings and one with four falls', () => {
    const record = readTrial(study, rehearsal.trialId);
    const refused = (changed: Partial<typeof record>, what: RegExp): void => {
      try {
        trialResponse({ ...record, ...changed });
        expect.unreachable();
      } catch (error) {
        if (!isChambersideError(error, 'record-insufficient')) throw error;
        expect(error.what).toMatch(what);
      }
    };
    refused({ rig: { ...record.rig, bypass: false } }, /bypass/);
    refused({ streams: [] }, /photometer/);
    const zeros = record.events.flatMap((event) =>
      event.kind === 'dwell-began' && event.dwell.purpose === 'zero' ? [event.atMicroseconds] : [],
    );
    const fifth = zeros[4] ?? 0;
    refused({ events: record.events.filter(({ atMicroseconds }) => atMicroseconds < fifth) }, /falls can be fitted/);
  });
});
