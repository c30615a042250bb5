import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { expect, it } from 'vitest';
import { SignPanel } from '../../../../renderer/review/sign-panel.tsx';
import type { TrialResult } from '../../../../src/bridge/result.ts';
import { otherResults } from '../../../support/screens/place-scenes.ts';

/** What stands in the panel before anybody presses anything. On the screen it is tried by `review-screen.test.ts`. */
const { assessment, assessments } = otherResults.reviewed;
if (assessment === null) throw new Error('nothing is assessed');
/** With the newest assessment on screen, which is the one that is chosen then. */
const newest = assessments.at(-1)?.assessment ?? assessment.assessment;
const reviewed = { ...otherResults.reviewed, assessment: { ...assessment, assessment: newest } };
const people = [{ person: 'p-000000000003', code: 'RT', name: 'Robin Tamm', roles: ['reviewer' as const] }];
const last = reviewed.signatures.at(-1);
if (last === undefined) throw new Error('nothing is signed');
/** The release is next. */
const whole = [...reviewed.signatures, { ...last, step: 'reviewed' as const, number: last.number + 1 }];
const shown = (result: TrialResult): string =>
  renderToStaticMarkup(
    createElement(SignPanel, {
      ...{ result, people, here: null },
      sign: () => Promise.reject(new Error('nothing is signed here')),
      onClose: () => undefined,
    }),
  );

it('says of a virtual trial that it is signed as a rehearsal only, and offers no key', () => {
  const signatures = whole.map((one) => ({ ...one, rehearsal: true, fingerprint: null }));
  const text = shown({ ...reviewed, signatures, header: { ...reviewed.header, virtual: true } });
  expect(text).toContain('signed as a rehearsal only');
  expect(text).not.toContain('key of the laboratory');
  expect(shown(reviewed)).not.toContain('rehearsal');
});

it('says that the key signs a release of a real trial, and refuses who assessed before anything is typed', () => {
  expect(shown({ ...reviewed, signatures: whole })).toContain('key of the laboratory');
  expect(shown(reviewed)).toContain('RT signed this assessment as assessed, and cannot review it');
});

it('chooses what is on screen, and says what the result is once its release is taken back', () => {
  const text = shown(otherResults.reviewed);
  expect(text).toContain('The result of the trial is then its newest assessment, number 3');
  expect(text).not.toContain('Not what is on screen');
});

it('of a void trial offers nothing but to take the last signature back', () => {
  const text = shown({ ...reviewed, voidings: otherResults.void.voidings });
  expect(text).toContain('Take it back');
  expect(text).not.toContain('Sign as');
  expect(shown({ ...reviewed, voidings: otherResults.void.voidings, signatures: [] })).not.toContain('<form');
});
