import type { Browser, BrowserContext, Page } from 'playwright';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openLaboratory } from '../../src/host/store/laboratory.ts';
import { readAssessments } from '../../src/host/store/assessments.ts';
import { verify } from '../../src/host/store/verify.ts';
import { firstMethod } from '../../src/leakage/default-method.ts';
import type { Assessment } from '../../src/leakage/assessment.ts';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { startProgram, type StartedProgram } from '../support/end-to-end/started-program.ts';
import { rehearse } from '../support/rehearsal.ts';
import { keepPicture, violations } from '../support/window/examined.ts';

const folder = temporaryFolder();
const file = 'reviewed.chamberside';
const study = folder.file(file);
let browser: Browser;
let context: BrowserContext;
let program: StartedProgram;
let trial = '';
const complaints = watchComplaints();

beforeAll(async () => {
  ({ trialId: trial } = await rehearse(study, '--seed', '5', '--scenario', 'short'));
  const laboratory = openLaboratory(folder.file('laboratory.chamberside-laboratory'), { create: true });
  await laboratory.addPerson({ code: 'rita', name: 'Rita', roles: ['reviewer'], pin: '4711' });
  await laboratory.addPerson({ code: 'otto', name: 'Otto', roles: ['operator'], pin: '0815' });
  laboratory.close();
  browser = await launchBrowser();
  context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
  program = startProgram(folder.path);
}, 60_000);
afterAll(async () => {
  await browser.close();
  await program.end();
  folder.clear();
});

async function openWindow(): Promise<Page> {
  const page = await context.newPage();
  await complaints.listen(page.context());
  await page.goto(await program.newestAddress());
  await page.waitForSelector('main');
  return page;
}

/** Tabs until the control of this name has the focus: what a keyboard alone can reach. */
async function tabTo(page: Page, name: string): Promise<void> {
  for (let presses = 0; presses < 80; presses += 1) {
    await page.keyboard.press('Tab');
    const here = await page.evaluate(() => {
      const { activeElement } = document;
      const label = activeElement instanceof HTMLInputElement ? activeElement.labels?.[0]?.textContent : null;
      return label ?? activeElement?.textContent ?? '';
    });
    if (here === name) return;
  }
  throw new Error(`the keyboard does not reach ${name}`);
}

it('a reviewer leaves a stretch out on screen by keyboard alone, and sees in what that changes', async () => {
  const [planned] = readAssessments(study, trial);
  const details = planned?.details as Assessment;
  const cell = details.cells.find(({ flagged, windowPercent }) => windowPercent !== null && !flagged);
  const reading = cell?.parts[0]?.reading;
  if (cell === undefined || reading == null) throw new Error('no cell is in good order');
  const middle = (reading.arrivalFromMicroseconds + reading.arrivalToMicroseconds) / 2e6;

  const page = await openWindow();
  await page.evaluate(
    (to) => {
      window.location.hash = to;
    },
    `/result/${file}/${trial}`,
  );
  await page.getByRole('button', { name: 'Review', exact: false }).waitFor();
  await page.keyboard.press('r');
  const form = page.getByRole('form', { name: 'Assess anew' });
  await form.waitFor();
  await tabTo(page, 'From');
  await page.keyboard.type((middle - 0.5).toFixed(1));
  await tabTo(page, 'To');
  await page.keyboard.type((middle + 0.5).toFixed(1));
  await tabTo(page, 'Reason');
  await page.keyboard.type('a door was opened');
  await tabTo(page, 'Leave it out');
  await page.keyboard.press('Enter');
  await form.getByText('every port, time of arrival').waitFor();
  // Nobody but a reviewer is offered.
  expect(await form.getByLabel('Reviewer').locator('option').allTextContents()).toEqual(['rita, Rita']);
  await tabTo(page, 'PIN');
  await page.keyboard.type('4712');
  await page.keyboard.press('Enter');
  await form.getByText('Type the PIN again').waitFor();
  expect(readAssessments(study, trial)).toHaveLength(1);
  await page.keyboard.press('Control+A');
  await page.keyboard.type('4711');
  await page.keyboard.press('Enter');

  const difference = page.getByRole('table', { name: 'Difference' });
  await difference.waitFor({ timeout: 20_000 });
  expect(await page.getByText(/values differ\.$/).textContent()).toMatch(/^[1-9]\d* of \d+ values differ\.$/);
  expect(await difference.getByText('now stretch left out').count()).toBeGreaterThan(0);
  expect(await page.locator('.result-reviewed').textContent()).toBe(
    'Chosen by rita, 1 stretch left out: a door was opened',
  );
  await keepPicture(page, 'review-done');
  expect(await violations(page)).toEqual([]);

  // What is on disk is what was asked for, beside what was there.
  const [first, second, ...more] = readAssessments(study, trial);
  expect(more).toEqual([]);
  expect(first).toEqual(planned);
  expect(second?.review).toMatchObject({ person: 'rita', reason: 'a door was opened' });
  const flagged = (second?.details as Assessment).cells.filter(({ flags }) => flags.includes('left-out'));
  expect(flagged.map(({ exercise, probe }) => `${exercise} ${probe}`)).toContain(`${cell.exercise} ${cell.probe}`);

  // Back to the cells, and from flag to flag.
  await page.keyboard.press('Escape');
  await page.keyboard.press('f');
  await page.getByRole('heading', { name: 'From reading to leakage' }).waitFor();
  await page.close();
  expect(verify(study).intact).toBe(true);
}, 60_000);

it('a reviewer assesses by a method of a file, and a wrong file is refused where it is chosen', async () => {
  const before = readAssessments(study, trial).length;
  const page = await openWindow();
  await page.evaluate(
    (to) => {
      window.location.hash = to;
    },
    `/result/${file}/${trial}`,
  );
  await page.getByRole('button', { name: 'Review', exact: false }).waitFor();
  await page.keyboard.press('r');
  const form = page.getByRole('form', { name: 'Assess anew' });
  await form.getByLabel('Method').selectOption({ label: 'one of your own, from a file' });
  await form.getByText('Choose the file', { exact: true }).waitFor();
  const give = async (method: object): Promise<void> => {
    const buffer = Buffer.from(JSON.stringify(method));
    await form.locator('input[type=file]').setInputFiles({ name: 'own.json', mimeType: 'application/json', buffer });
  };
  await form.getByLabel('Reason').fill('limit of 10 s asked for');
  await form.getByLabel('PIN').fill('4711');
  const own = { ...firstMethod, name: 'house-rule', version: 1 };
  await give({ ...own, detectionFactor: 0 });
  await form.getByText('detectionFactor').waitFor();
  expect(await form.getByRole('button', { name: 'Assess as reviewer' }).isDisabled()).toBe(true);
  await keepPicture(page, 'review-method');
  await give({ ...own, detectionLimit: 'ten-s' });
  await form.getByText('“house-rule”, version 1').waitFor();
  await form.getByRole('button', { name: 'Assess as reviewer' }).click();
  await page.getByRole('table', { name: 'Difference' }).waitFor({ timeout: 20_000 });
  expect(await violations(page)).toEqual([]);
  await page.close();
  const all = readAssessments(study, trial);
  expect(all).toHaveLength(before + 1);
  expect(all.at(-1)?.method).toMatchObject({ name: 'house-rule', detectionLimit: 'ten-s' });
}, 60_000);
