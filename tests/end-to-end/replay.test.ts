import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, BrowserContext, Page } from 'playwright';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { digestOfFile } from '../support/digest-of-file.ts';
import { startProgram, type StartedProgram } from '../support/end-to-end/started-program.ts';
import { rehearse } from '../support/rehearsal.ts';

const pictures = process.env['CHAMBERSIDE_PICTURES'];
const folder = temporaryFolder();
const study = folder.file('played.chamberside');
let browser: Browser;
let context: BrowserContext;
let program: StartedProgram;
let trial = '';
const complaints = watchComplaints();

beforeAll(async () => {
  ({ trialId: trial } = await rehearse(study, '--seed', '5', '--scenario', 'short'));
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

const moment = async (page: Page): Promise<number> => {
  const [minutes = 'NaN', seconds = 'NaN'] = ((await page.textContent('.transport-time')) ?? '').split(/[: ]/);
  return Number(minutes) * 60 + Number(seconds);
};
const reading = (page: Page): Promise<string | null> => page.textContent('.now-title');

it('plays a recorded trial on the console of every window, by keyboard', async () => {
  const before = digestOfFile(study);
  const page = await openWindow();
  await page.evaluate((to) => {
    window.location.hash = to;
  }, `/result/played.chamberside/${trial}`);
  await page.getByRole('button', { name: 'Replay' }).waitFor();
  await page.keyboard.press('p');
  await page.getByText('Replay, not a trial').waitFor();
  expect(await page.textContent('.bar-replay')).toBe('Replay, paused');
  expect(await moment(page)).toBe(0);

  expect(await page.locator('h1').count()).toBe(1);
  // As fast as a hand can: each of them counts.
  for (let faster = 0; faster < 6; faster += 1) await page.keyboard.press('+');
  await page.keyboard.press('p');
  await expect.poll(() => page.textContent('.bar-replay')).toBe('Replay 60×');
  await expect.poll(() => moment(page), { timeout: 10_000 }).toBeGreaterThan(80);
  await page.keyboard.press('p');
  await expect.poll(() => page.textContent('.bar-replay')).toBe('Replay, paused');
  const stoodAt = await moment(page);
  const title = await reading(page);
  const elapsed = await page.textContent('.timeline-foot');
  await page.waitForTimeout(1_200);
  expect(await moment(page)).toBe(stoodAt);
  expect(await reading(page)).toBe(title);
  // What follows the clock of the host stands too, and where the snapshot does.
  expect(await page.textContent('.timeline-foot')).toBe(elapsed);
  expect(elapsed).toContain(`${Math.floor(stoodAt / 60)}:${String(stoodAt % 60).padStart(2, '0')}`);
  if (pictures !== undefined) {
    mkdirSync(pictures, { recursive: true });
    await page.screenshot({ path: join(pictures, 'replay-played.png') });
  }

  // The tag leads another window there.
  const other = await openWindow();
  await other.locator('.bar-replay').click();
  await expect.poll(() => moment(other)).toBe(stoodAt);
  expect(await reading(other)).toBe(title);
  await page.keyboard.press('k');
  await expect.poll(() => moment(other)).toBe(stoodAt + 10);
  for (let press = 0; press < 3; press += 1) await page.keyboard.press('j');
  await expect.poll(() => moment(other)).toBe(stoodAt - 20);
  expect(await other.locator('.stop, .hand').count()).toBe(0);

  await page.keyboard.press('Escape');
  await page.getByRole('button', { name: 'Replay' }).waitFor();
  await other.getByText('No replay is open').waitFor();
  expect(digestOfFile(study)).toBe(before);
});
