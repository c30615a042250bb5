import { describe, expect, it } from 'vitest';
import { drivers } from '../../../drivers/registry.ts';
import { askedSpecimens } from './asked-specimens.ts';
import { subjects } from './bench.ts';
import { conformance } from './conformance-suite.ts';
import { specimens } from './specimens.ts';

/** Those that speak by themselves, or in lines; `asked.test.ts` has the others. */
const speaking = subjects.filter(([name]) => !(name in askedSpecimens));

it('has a specimen for every registered driver and none for others', () => {
  const registered = drivers.map((manifest) => `${manifest.kind} ${manifest.dialect}`);
  expect(new Set(registered).size).toBe(registered.length);
  expect([...Object.keys(specimens), ...Object.keys(askedSpecimens)].sort()).toEqual([...registered].sort());
});

describe.each(speaking)('%s, %s', (...subject) => {
  const [name] = subject;
  const specimen = specimens[name];
  if (specimen !== undefined) return conformance(subject, specimen);
  it('has a specimen', () => {
    expect.unreachable(`add ${name} to specimens.ts`);
  });
});
