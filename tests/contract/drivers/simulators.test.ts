import { describe, expect, it } from 'vitest';
import { askedSpecimens } from './asked-specimens.ts';
import { subjects } from './bench.ts';
import { simulated } from './simulators-suite.ts';
import { specimens } from './specimens.ts';

/** Those that speak by themselves, or in lines; `asked.test.ts` and `control-lines.test.ts` have the others. */
const speaking = subjects.filter(([name]) => !(name in askedSpecimens) && specimens[name]?.simulate !== null);

describe.each(speaking)('%s, %s, and its simulator', (...subject) => {
  const [name] = subject;
  const specimen = specimens[name];
  if (specimen !== undefined) return simulated(subject, specimen);
  it('has a specimen', () => {
    expect.unreachable(`add ${name} to specimens.ts`);
  });
});
