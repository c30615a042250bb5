import { join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../src/host/door/browser-door.ts';
import { readStaticFiles } from '../../src/host/door/static-files.ts';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { createMadeUpHost } from '../support/screens/made-up-host.ts';
import { scenes } from '../support/screens/scenes.ts';
import { keepPicture, violations } from '../support/window/examined.ts';

/** The review of a made-up trial in every size and theme. On disk it is tried by `review.test.ts`. */
const sizes = [
  { width: 1366, height: 768 },
  { width: 1920, height: 1080 },
] as const;
const scene = scenes.find(({ name }) => name === 'result-reviewed');
if (scene === undefined) throw new Error('there is no such scene');
const madeUp = createMadeUpHost(scene);
let browser: Browser;
let door: BrowserDoor;
let page: Page;
const complaints = watchComplaints();

beforeAll(async () => {
  door = await openBrowserDoor(madeUp.host, {
    port: 0,
    files: readStaticFiles(join(import.meta.dirname, '../../build/out/renderer')),
    onDefect: (error, where) => complaints.note(`door ${where}: ${String(error)}`),
  });
  browser = await launchBrowser();
  page = await browser.newPage({ viewport: sizes[0] });
  await complaints.listen(page.context());
  await page.goto(door.issueAddress());
  await page.waitForSelector('main');
  await page.evaluate((address) => {
    window.location.hash = address;
  }, scene.address);
  await page.locator('.trial-trace .u-over').waitFor();
}, 60_000);
afterAll(async () => {
  await browser.close();
  await door.close();
});

/** What is on the screen now, in both themes and both sizes: nothing sticks out, and no rule is broken. */
async function expectCleanEverywhere(name: string): Promise<void> {
  for (const theme of ['dark', 'light']) {
    await page.evaluate((wanted) => {
      const other = document.documentElement.dataset['theme'] !== wanted;
      if (other) document.querySelector<HTMLElement>('.bar-theme:not(.bar-subject)')?.click();
    }, theme);
    for (const size of sizes) {
      await page.setViewportSize(size);
      await page.waitForTimeout(100);
      await keepPicture(page, `${name}-${theme}-${size.width}`);
      const across = await page.evaluate(() => {
        const parts = [document.documentElement, ...document.querySelectorAll('main, main > *, .review-panel')];
        return Math.max(...parts.map((one) => one.scrollWidth - one.clientWidth));
      });
      expect(across, 'it is too wide').toBeLessThanOrEqual(0);
    }
    expect(await violations(page)).toEqual([]);
  }
  await page.setViewportSize(sizes[0]);
}

it('leaves a stretch out by keys or dragging, for a reviewer with a PIN, and shows the difference', async () => {
    await page.keyboard.press('r');
  const form = page.getByRole('form', { name: 'Assess anew' });
  await form.waitFor();
  // What is left out already is there to be kept or taken back.
  expect(await form.getByRole('button', { name: /^Take back/ }).count()).toBe(1);
  const chart = await page.locator('.trial-trace .u-over').boundingBox();
  if (chart === null) throw new Error('there is no chart');
  const middle = chart.y + chart.height / 2;
  await page.mouse.move(chart.x + 0.4 * chart.width, middle);
  await page.mouse.down();
  await page.mouse.move(chart.x + 0.5 * chart.width, middle, { steps: 5 });
  await page.mouse.up();
  const begins = Number(await form.getByLabel('From').inputValue());
  expect(Number(await form.getByLabel('To', { exact: true }).inputValue()) - begins).toBeGreaterThan(100);
  await form.getByLabel('From').fill('700.5');
  await form.getByLabel('To', { exact: true }).fill('702');
  await form.getByRole('button', { name: 'Leave it out' }).click();
  await form.getByText('Needed. Fill this in.').waitFor();
  await expectCleanEverywhere('result-review-problem');
  await form.getByLabel('Reason').fill('the line was kinked');
  await form.getByLabel('PIN').fill('0000');
  // A stretch that is typed and not yet left out is not passed over.
  expect(await form.getByRole('button', { name: 'Assess as reviewer' }).isDisabled()).toBe(true);
  await form.getByText('Leave out the stretch that is typed above').waitFor();
  await form.getByLabel('PIN').fill('');
  await form.getByLabel('Of dwells at').selectOption({ index: 1 });
  await form.getByLabel('From').press('Enter');
  expect(await form.getByRole('button', { name: /^Take back/ }).count()).toBe(2);
  await form.getByLabel('Method').selectOption('adaptive');
  const asReviewer = form.getByRole('button', { name: 'Assess as reviewer' });
  expect(await asReviewer.isDisabled()).toBe(true);
  await form.getByLabel('PIN').fill('0000');
  await expectCleanEverywhere('result-review');
  await page.keyboard.press('Enter');
  await page.getByText('Type the PIN again').waitFor();
  await form.getByLabel('PIN').fill('4711');
  await page.keyboard.press('Enter');
  await page.getByText('3 of').first().waitFor();
  const asked = madeUp.asked.at(-1) ?? '';
  expect(asked).toContain('"fromMicroseconds":700500000,"toMicroseconds":702000000,"time":"arrival"');
  expect(asked).toContain('"method":"adaptive","person":"RT","reason":"the line was kinked"');
  expect(asked).not.toContain('4711');
  await expectCleanEverywhere('result-difference');
  // From a line of the difference to its cell, by its button.
  await page.locator('.review-difference button').first().click();
  await page.keyboard.press('Escape');
  await page.getByRole('heading', { name: 'From reading to leakage' }).waitFor();
});

it('makes a trial void by keys, for a reviewer with a reason and the PIN', async () => {
  await page.keyboard.press('v');
  const panel = page.getByRole('region', { name: 'Make this trial void' });
  const decide = panel.getByRole('button', { name: 'Make it void' });
  expect(await decide.isDisabled()).toBe(true);
  await panel.getByLabel('Reason').fill('the hose of the hood had come off');
  await panel.getByLabel('PIN').fill('0000');
  await expectCleanEverywhere('result-voiding');
  await page.keyboard.press('Enter');
  await page.getByText('Type the PIN again').waitFor();
  await panel.getByLabel('PIN').fill('4711');
  await page.keyboard.press('Enter');
  await panel.waitFor({ state: 'detached' });
  expect(madeUp.asked.at(-1)).toBe('trial.void void RT the hose of the hood had come off');
});

it('signs by keys, one step at a time, and refuses whoever would review what they assessed', async () => {
  await page.locator('.result-signed').getByText('released by RT').waitFor();
  await page.keyboard.press('s');
  const panel = page.getByRole('region', { name: 'Sign an assessment' });
  // What is signed is what is on screen, unless somebody chooses otherwise, and is told.
  await panel.getByText('The result of the trial is then its newest assessment, number 3').waitFor();
  await panel.getByLabel('Assessment').selectOption({ index: 0 });
  await panel.getByText('Not what is on screen: the values are those of assessment 2.').waitFor();
  await panel.getByText('RT signed this assessment as assessed, and cannot review it.').waitFor();
  await panel.getByText('not who sat here').waitFor();
  await panel.getByLabel('Reason').fill('trace and flags looked at');
  await panel.getByLabel('PIN').fill('4711');
  expect(await panel.getByRole('button', { name: 'Sign as reviewed' }).last().isDisabled()).toBe(true);
  await expectCleanEverywhere('result-sign-refused');
  expect((await labels(panel)).map((label) => [label[0], label.endsWith('counts')])).toEqual([
    ...[['3', false], ['2', true], ['1', false]],
  ]);
  await panel.getByLabel('Assessment').selectOption({ index: 2 });
  await panel.getByLabel('Who signs').selectOption('AM');
  await panel.getByLabel('Reason').fill('as planned');
  await panel.getByLabel('PIN').fill('0000');
  await expectCleanEverywhere('result-sign');
  await page.keyboard.press('Enter');
  await page.getByText('Type the PIN again').waitFor();
  await panel.getByLabel('PIN').fill('4711');
  await page.keyboard.press('Enter');
  await expect.poll(() => madeUp.asked.at(-1)).toBe('trial.sign a-000000000001 assessed AM as planned');
  await panel.getByLabel('Assessment').selectOption({ index: 1 });
  await panel.getByRole('button', { name: 'Take it back' }).waitFor();
  await expectCleanEverywhere('result-sign-released');
  await page.keyboard.press('Escape');
  await panel.waitFor({ state: 'detached' });
});

const labels = (panel: Locator): Promise<string[]> =>
  panel.getByLabel('Assessment').locator('option').allTextContents();
