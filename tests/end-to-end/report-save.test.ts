import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../src/host/door/browser-door.ts';
import { readStaticFiles } from '../../src/host/door/static-files.ts';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { createMadeUpHost, madeUpReportBytes } from '../support/screens/made-up-host.ts';
import { scenes } from '../support/screens/scenes.ts';

/** A report saved from the result screen, through a real door into a real download. */
const complaints = watchComplaints();
let browser: Browser;
let door: BrowserDoor;
let page: Page;

beforeAll(async () => {
  const scene = scenes.find(({ name }) => name === 'result');
  if (scene === undefined) throw new Error('there is no scene of a result');
  const madeUp = createMadeUpHost(scene);
  door = await openBrowserDoor(madeUp.host, {
    port: 0,
    files: readStaticFiles(join(import.meta.dirname, '../../build/out/renderer')),
    onDefect: (error, where) => complaints.note(`door ${where}: ${String(error)}`),
  });
  browser = await launchBrowser();
  page = await browser.newPage({ acceptDownloads: true, viewport: { width: 1366, height: 768 } });
  await complaints.listen(page.context());
  await page.goto(door.issueAddress());
  await page.waitForSelector('main');
  await page.evaluate((address) => {
    window.location.hash = address;
  }, scene.address);
}, 120_000);

afterAll(async () => {
  await browser.close();
  await door.close();
});

describe('the report from the result screen', () => {
  it.each([
    ['Report PDF', 'pdf'],
    ['Report HTML', 'html'],
  ])('%s: shows what the host is at, and saves every byte', async (label, ending) => {
    await page.waitForSelector('.report-box');
    const word = page.locator('.report-word');
    // A step may stand for a moment only: everything that the page says is kept.
    await page.evaluate(() => {
      const said: string[] = [];
      const keep = (): void => void said.push(document.querySelector('.report-word')?.textContent ?? '');
      new MutationObserver(keep).observe(document.body, { subtree: true, childList: true, characterData: true });
      Object.assign(window, { said });
    });
    const download = page.waitForEvent('download');
    await page.getByRole('button', { name: label }).click();
    const file = await download;
    expect(file.suggestedFilename()).toMatch(new RegExp(`^t-[0-9a-z]{12}\\.${ending}$`));
    expect(readFileSync(await file.path()).equals(Buffer.from(madeUpReportBytes))).toBe(true);
    await word.filter({ hasText: `Saved as ${file.suggestedFilename()}` }).waitFor({ timeout: 20_000 });
    const said = (await page.evaluate(() => (window as unknown as { said: string[] }).said)).join('\n');
    for (const step of ['Reading the trial and walking its chain', 'Setting the pages']) expect(said).toContain(step);
  });
});
