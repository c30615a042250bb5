import { mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../src/host/door/browser-door.ts';
import { readStaticFiles } from '../../src/host/door/static-files.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { createMadeUpHost } from '../support/screens/made-up-host.ts';
import { scenes, type Scene } from '../support/screens/scenes.ts';

/** Where pictures go, when somebody wants to look at them; nothing is kept otherwise. */
const pictures = process.env['CHAMBERSIDE_PICTURES'];
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const sizes = [
  { width: 1366, height: 768 },
  { width: 1920, height: 1080 },
] as const;
const themes = ['light', 'dark'] as const;

const first = scenes[0];
if (first === undefined) throw new Error('there is no scene');
const madeUp = createMadeUpHost(first);
let browser: Browser;
let door: BrowserDoor;
let page: Page;
/** What the browser complained of: console errors, violations of the policy, uncaught errors. */
const complaints: string[] = [];

beforeAll(async () => {
  door = await openBrowserDoor(madeUp.host, {
    port: 0,
    files: readStaticFiles(join(import.meta.dirname, '../../build/out/renderer')),
    onDefect: (error, where) => complaints.push(`door ${where}: ${String(error)}`),
  });
  browser = await launchBrowser();
  page = await browser.newPage();
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(error.message));
  await page.goto(door.issueAddress());
  await page.waitForSelector('main');
}, 60_000);

afterAll(async () => {
  await browser.close();
  await door.close();
});

async function show(scene: Scene, theme: string, size: { width: number; height: number }): Promise<void> {
  madeUp.show(scene);
  await page.setViewportSize(size);
  await page.evaluate(
    ([address, wanted]) => {
      window.location.hash = address ?? '';
      document.documentElement.dataset['theme'] = wanted;
    },
    [scene.address, theme],
  );
  await page.waitForSelector('main');
  await page.waitForTimeout(700);
}

describe.each(scenes)('the screen "$name"', (scene) => {
  it.each(themes)('is whole in both sizes, %s', async (theme) => {
    for (const size of sizes) {
      complaints.length = 0;
      await show(scene, theme, size);
      if (pictures !== undefined) {
        mkdirSync(pictures, { recursive: true });
        await page.screenshot({ path: join(pictures, `${scene.name}-${theme}-${size.width}.png`) });
      }
      const overflow = await page.evaluate(() => {
        const { scrollWidth, clientWidth, scrollHeight, clientHeight } = document.documentElement;
        return { across: scrollWidth - clientWidth, down: scrollHeight - clientHeight };
      });
      expect(overflow.across, 'it scrolls sideways').toBeLessThanOrEqual(0);
      if (scene.address === '/trial') expect(overflow.down, 'a live screen scrolls').toBeLessThanOrEqual(0);
      await page.evaluate(axe);
      const found = await page.evaluate(async () => {
        const { axe: checker } = window as unknown as {
          axe: { run(context: Document, options: object): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
        };
        const { violations } = await checker.run(document, {
          runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'],
        });
        return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`);
      });
      expect(found).toEqual([]);
      expect(complaints).toEqual([]);
    }
  });
});
