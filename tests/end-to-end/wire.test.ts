import { join } from 'node:path';
import type { Browser, Page } from 'playwright';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../src/host/door/browser-door.ts';
import { readStaticFiles } from '../../src/host/door/static-files.ts';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { createMadeUpHost } from '../support/screens/made-up-host.ts';
import { scenes } from '../support/screens/scenes.ts';
import { keepPicture, violations } from '../support/window/examined.ts';

const sizes = [
  [1366, 768],
  [1920, 1080],
] as const;
const scene = scenes.find(({ name }) => name === 'rig');
if (scene === undefined) throw new Error('there is no scene of the rig');
const madeUp = createMadeUpHost(scene);
const complaints = watchComplaints();
let browser: Browser;
let door: BrowserDoor;
let page: Page;

beforeAll(async () => {
  door = await openBrowserDoor(madeUp.host, {
    port: 0,
    files: readStaticFiles(join(import.meta.dirname, '../../build/out/renderer')),
    onDefect: (error, where) => complaints.note(`door ${where}: ${String(error)}`),
  });
  browser = await launchBrowser();
  page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
  await complaints.listen(page.context());
  await page.goto(`${door.issueAddress()}#/rig`);
}, 60_000);

afterAll(async () => {
  await browser.close();
  await door.close();
});

describe('the wire of an instrument, at 100 lines a second', () => {
  it('watches a wire by keyboard: rows that come, a list that is held, a capture', async () => {
    await page.getByRole('button', { name: 'Watch the wire of Photometer' }).focus();
    await page.keyboard.press('Enter');
    const rows = page.locator('.wire-list .wire-row');
    await rows.last().waitFor();
    // Of five hundred and more rows only those that are seen are there, and the last is the newest.
    expect(await rows.count()).toBeLessThan(60);
    const last = (): Promise<string | null> => rows.last().textContent();
    const before = await last();
    await expect.poll(last).not.toBe(before);
    await page.keyboard.press('h');
    await page.getByText(/^Held/).waitFor();
    const heldAt = await last();
    await page.locator('.wire-list').focus();
    // One line of 137 is garbled: it is paged to, away from the newest. The list glides, so each page is waited for.
    const garbled = page.locator('.wire-trouble', { hasText: 'line-undecodable' });
    for (let presses = 0; presses < 20 && (presses < 4 || (await garbled.count()) === 0); presses += 1) {
      await page.keyboard.press('PageUp');
      await page.waitForTimeout(400);
    }
    await garbled.first().scrollIntoViewIfNeeded();
    await expect.poll(last).not.toBe(heldAt);
    await page.keyboard.press('w');
    await page.getByText('Capturing to /home/laboratory/').waitFor();
    for (const theme of ['light', 'dark']) {
      for (const [width, height] of sizes) {
        await page.setViewportSize({ width, height });
        await page.waitForTimeout(300);
        await keepPicture(page, `rig-wire-${theme}-${width}`);
        const overflow = await page.evaluate(() => {
          const { clientHeight, clientWidth, scrollHeight, scrollWidth } = document.documentElement;
          return { across: scrollWidth - clientWidth, down: scrollHeight - clientHeight };
        });
        expect(overflow).toEqual({ across: 0, down: 0 });
      }
      expect(await violations(page)).toEqual([]);
      await page.locator('.bar-theme:not(.bar-subject)').click();
    }
    await page.keyboard.press('w');
    await page.getByText('Captured to /home/laboratory/').waitFor();
    await page.keyboard.press('h');
    await page.getByText(/^Held/).waitFor({ state: 'detached' });
    await page.keyboard.press('Escape');
    await page.getByRole('button', { name: 'Watch the wire of Belt' }).waitFor();
    expect(madeUp.asked.slice(-2)).toEqual(['rig.beginCapture photometer', 'rig.endCapture photometer']);
  });
});
