import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, BrowserContext } from 'playwright';
import { afterAll, afterEach, beforeAll, expect, it } from 'vitest';
import { scenarioNamed } from '../../drivers/virtual-rig/index.ts';
import { listTrials, readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { chamberside, temporaryFolder } from '../support/command-line.ts';
import { program as built, startProgram, type StartedProgram } from '../support/end-to-end/started-program.ts';
import { quickScenarioOf } from '../support/runtime/quick-scenario.ts';
import { keepPicture } from '../support/window/examined.ts';
import { prepareTrial } from '../support/window/prepare-trial.ts';

/** From the start of the rig: the trial is under way by then, and far from its end. */
const pressedSeconds = 50;

const complaints = watchComplaints();
const folder = temporaryFolder();
let browser: Browser;
let context: BrowserContext | undefined;
let program: StartedProgram | undefined;

beforeAll(async () => {
  browser = await launchBrowser();
}, 60_000);
afterEach(async () => {
  await context?.close();
  await program?.end();
});
afterAll(async () => {
  await browser.close();
  folder.clear();
});

it('a subject presses the stop in their hand: on the screen, in the record, in the result, in the report', async () => {
  const short = scenarioNamed('short');
  if (short === undefined) throw new Error('the short scenario is missing');
  const scenario = join(folder.path, 'pressed.json');
  const fault = { fault: 'subject-stop', seconds: 3 } as const;
  const quick = { ...quickScenarioOf(short, ['march']), faults: [{ atSeconds: pressedSeconds, fault }] };
  writeFileSync(scenario, JSON.stringify(quick));
  program = startProgram(folder.path, [process.execPath, built, 'start', '--virtual-rig', scenario, '--seed', '3']);
  context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
  await complaints.listen(context);
  const page = await context.newPage();
  await page.goto(await program.address());
  await page.getByText('4 of 4 instruments').waitFor({ timeout: 30_000 });
  await page.evaluate(() => {
    window.location.hash = '/rig';
  });
  await page.getByText('Stop at rest · Door closed').waitFor({ timeout: 5_000 });
  await keepPicture(page, 'subject-stop-rig');

  await prepareTrial(page, { study: 'Pressed', heartRateLimit: '200' });
  await page.getByText(/Subject’s stop armed/).waitFor({ timeout: 5_000 });
  await keepPicture(page, 'subject-stop-armed');
  await page.keyboard.press('Space');
  await page.keyboard.press('Enter');
  await page.locator('.now-still').waitFor({ state: 'detached', timeout: 5_000 });

  await page.locator('.now-stopped').waitFor({ timeout: (pressedSeconds + 20) * 1_000 });
  await page.locator('.al-head', { hasText: 'Subject pressed stop' }).waitFor({ timeout: 2_000 });
  expect(await page.locator('.al').first().innerText()).toMatch(/keep moving gently or sit down/);
  expect(await page.locator('.now-above').innerText()).toBe('The subject pressed stop: hand stop.');
  await keepPicture(page, 'subject-stop-stopped');
  await page.getByRole('button', { name: /close the trial/i }).first().click();
  await page.getByRole('button', { name: /to the result/i }).click({ timeout: 30_000 });
  await page.getByText(/Stopped by the subject at \d+:\d\d/).waitFor({ timeout: 20_000 });
  await keepPicture(page, 'subject-stop-result');
  complaints.provokes('host-away');
  await program.end();

  const study = join(folder.path, readdirSync(folder.path).find((name) => name.endsWith('.chamberside')) ?? '');
  const [trial] = listTrials(study);
  const record = readTrial(study, trial?.trial ?? '');
  expect(record.events.find((event) => event.kind === 'operator-action' && event.action === 'stop')).toMatchObject({
    person: 'subject',
    source: { source: 'contact', instrument: 'contacts', stream: 'stop' },
  });
  expect(verify(study).intact).toBe(true);
  const report = join(folder.path, 'pressed.html');
  const made = await chamberside('report', '--study', study, '--trial', trial?.trial ?? '', '--out', report);
  expect(made.stderr).toBe('');
  expect(readFileSync(report, 'utf8')).toContain('The subject stopped it.');
}, 180_000);
