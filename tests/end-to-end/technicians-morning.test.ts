import { join } from 'node:path';
import type { Browser, Page } from 'playwright';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../src/host/door/browser-door.ts';
import { readStaticFiles } from '../../src/host/door/static-files.ts';
import { createHostRuntime } from '../../src/host/runtime/create-host-runtime.ts';
import type { HostRuntime } from '../../src/host/runtime/create-host-runtime.ts';
import { laboratoryFile } from '../../src/host/runtime/folder.ts';
import { openLaboratory } from '../../src/host/store/laboratory.ts';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { quickScenario, writeQuickScenario } from '../support/runtime/quick-scenario.ts';
import { at } from '../support/window/prepare-trial.ts';
import { keepPicture } from '../support/window/examined.ts';

const folder = temporaryFolder();
const complaints = watchComplaints();
let browser: Browser;
let runtime: HostRuntime;
let door: BrowserDoor;
let page: Page;

const day = (days: number): string => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

/** A technician, and a photometer whose certificate ended days ago. */
async function keepLaboratory(): Promise<void> {
  const laboratory = openLaboratory(join(folder.path, laboratoryFile), { create: true });
  try {
    await laboratory.addPerson({ code: 'tom', name: 'Tom', roles: ['technician', 'operator'], pin: '4711' });
    const about = { maker: 'a maker', model: 'a model', serial: '4021' };
    laboratory.register.add({ entry: 'instrument', instrument: 'PH-1', kind: 'photometer', ...about }, 'tom');
    const certificate = {
      ...{ number: 'C-16', issuer: 'a laboratory', quantity: 'linearity', unit: '1', value: 1.004 } as const,
      ...{ expandedUncertainty: 0.02, coverageFactor: 2, issuedOn: day(-400), validUntil: day(-9) },
    };
    laboratory.register.add({ entry: 'certificate', instrument: 'PH-1', certificate }, 'tom');
  } finally {
    laboratory.close();
  }
}

beforeAll(async () => {
  writeQuickScenario(folder.path, ['march']);
  await keepLaboratory();
  runtime = await createHostRuntime({ folder: folder.path, program: '0.0.0-test', checkSeconds: 2 });
  door = await openBrowserDoor(runtime, {
    port: 0,
    files: readStaticFiles(join(import.meta.dirname, '../../build/out/renderer')),
    onDefect: (error, where) => complaints.note(`door ${where}: ${String(error)}`),
  });
  browser = await launchBrowser();
  page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
  page.setDefaultTimeout(60_000);
  await complaints.listen(page.context());
  await page.goto(door.issueAddress());
  await page.waitForSelector('main');
  const window = { window: 1 };
  await runtime.procedures.rig.startVirtual({ scenario: quickScenario, seed: 7 }, window);
  await runtime.procedures.study.create({ name: 'A morning' }, window);
}, 60_000);

afterAll(async () => {
  await browser.close();
  await door.close();
  await runtime.close();
  folder.clear();
});

/** What the plan of a trial says before the start. */
async function warningsOfPlan(): Promise<string[]> {
  await page.getByRole('link', { name: 'Plan', exact: true }).click();
  await page.getByLabel('Study', { exact: true }).selectOption({ label: 'A morning' });
  await page.getByLabel('Subject', { exact: true }).fill('S01');
  await page.getByLabel('Ensemble').fill('Coverall A');
  const series = page.getByLabel('Series');
  const labels = await series.locator('option').allInnerTexts();
  await series.selectOption({ label: labels.find((label) => label.includes('As short as it goes')) ?? '' });
  await page.getByLabel('Heart-rate limit').fill('180');
  await page.locator('.plan-table').waitFor();
  return page.locator('.plan-warnings li').allInnerTexts();
}

/** Runs the check that is due next, and waits for its verdict. */
async function runDue(name: string): Promise<void> {
  await page.getByRole('button', { name: 'Run what is due' }).click();
  await page.getByRole('heading', { level: 1, name, exact: true }).waitFor();
  await page.getByRole('button', { name: 'Begin the check' }).click();
  await page.getByRole('button', { name: 'End the check' }).waitFor();
  await page.locator('.desk-found > header').getByText('passed').waitFor();
  await page.getByRole('button', { name: 'Back to the rig' }).click();
}

describe('a technician’s morning on the virtual rig', () => {
  it('finds a certificate overdue, checks the rig, enters the new one, and is then free of that remark', async () => {
    await at(page, '/person');
    await page.getByRole('button', { name: /^tom/ }).click();
    await page.getByText('At the rig: tom').waitFor();

    // One press from anywhere: the register, and what is overdue in it.
    await page.getByRole('link', { name: 'Instruments' }).click();
    await page.getByRole('button', { name: /^PH-1/ }).getByText(/^over for (9|10) days$/).waitFor();
    await page.keyboard.press('p');
    await page.getByLabel('Place in it').getByText('Instrument photometer').waitFor({ state: 'attached' });
    await page.getByLabel('PIN').fill('4711');
    await page.keyboard.press('Enter');
    await page.getByText('No check that tells of it has been made since it works there.').waitFor();

    await page.getByRole('link', { name: 'Rig', exact: true }).click();
    await page.getByText('certificate C-16 of PH-1 has ended').waitFor();
    await runDue('Zero');
    await runDue('Span');
    const warnings = await warningsOfPlan();
    const ended = `Certificate C-16 of PH-1 (linearity) ended with ${day(-9)}.`;
    expect(warnings).toContain(ended);

    await page.getByRole('link', { name: 'Instruments' }).click();
    await page.getByRole('img', { name: 'Zero, Mean: earlier results with their limits' }).waitFor();
    await page.getByRole('img', { name: 'Span, Mean: earlier results with their limits' }).waitFor();
    await keepPicture(page, 'morning-overdue');
    await page.keyboard.press('k');
    await page.getByLabel('Number of the certificate').fill('C-17');
    await page.getByLabel('Issued by').fill('a laboratory');
    await page.getByLabel('Value').fill('1.002');
    await page.getByLabel('Expanded uncertainty U').fill('0.02');
    await page.getByLabel('Issued on').fill(day(-1));
    await page.getByLabel('Valid until').fill(day(364));
    await page.getByLabel('PIN').fill('4711');
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: /^PH-1/ }).getByText(/^36[34] days left$/).waitFor();
    await page.getByText('replaced by a newer one').waitFor();
    await keepPicture(page, 'morning-valid');

    const after = await warningsOfPlan();
    expect(after).toEqual(warnings.filter((warning) => warning !== ended));
    expect(after.filter((warning) => /certificate|zero|span/i.test(warning))).toEqual([]);
    const { register } = runtime.procedures;
    const { instruments } = await register.view({}, { window: 1 });
    expect(instruments[0]?.certificates.map(({ certificate, withdrawn }) => [certificate.number, withdrawn])).toEqual([
      ['C-16', null],
      ['C-17', null],
    ]);
  }, 240_000);
});
