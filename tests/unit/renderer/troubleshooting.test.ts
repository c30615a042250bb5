import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { alarmWords } from '../../../renderer/words/alarms.ts';
import { errorCodes } from '../../../src/model/error-code.ts';
import { hostAlarms } from '../../../src/safety/alarm-catalogue.ts';

const guide = readFileSync(new URL('../../../docs/guides/troubleshooting.md', import.meta.url), 'utf8');

describe('the guide for when something is wrong', () => {
  it.each(hostAlarms)('has the alarm %s under the words of the alarm row', (alarm) => {
    const headline = alarmWords.headline({ alarm, instrument: null, title: null });
    expect(guide).toContain(headline.replace(/^Instrument /, '… '));
  });

  it.each(Object.keys(errorCodes))('has the refusal %s', (code) => {
    expect(guide).toContain(`\`${code}\``);
  });

  it('knows no code that the program does not', () => {
    const refusals = guide.slice(guide.indexOf('## What a refusal says'));
    const named = [...refusals.matchAll(/`([a-z]+(?:-[a-z]+)+)`/g)].map(([, code]) => code ?? '');
    expect(named.filter((code) => !(code in errorCodes))).toEqual([]);
  });
});
