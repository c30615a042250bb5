import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { exportedSteps, fitsApart, fitsOfR, ownFit } from '../support/r/step-rows.ts';

const stored = (name: string): string => readFileSync(new URL(`../../fixtures/r/${name}`, import.meta.url), 'utf8');
const steps = exportedSteps(stored('steps.csv'));
const recorded = stored('step-fits.csv');
const fits = fitsOfR(recorded);

// Falls into filtered air on the virtual rig, and one of exact shape without dispersion.
it.each(steps.map((step) => [step.step, step] as const))(
  `the step %s is fitted as by ${recorded.split('\n')[0]?.slice(2).trim() ?? ''} (recorded by tests/landing/r)`,
  (name, step) => {
    expect(fitsApart(ownFit(step), fits.get(name) ?? [])).toBeLessThan(1e-9);
  },
);

it('five steps are compared', () => {
  expect(steps.map(({ step }) => step)).toEqual(['broad', 'sharp', 'slow', 'plug', 'none']);
});
