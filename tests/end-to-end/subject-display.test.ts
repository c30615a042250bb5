import { join } from 'node:path';
import type { Browser, BrowserContext, Page } from 'playwright';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../src/host/door/browser-door.ts';
import { readStaticFiles } from '../../src/host/door/static-files.ts';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { program as built, startProgram, type StartedProgram } from '../support/end-to-end/started-program.ts';
import { writeQuickScenario } from '../support/runtime/quick-scenario.ts';
import { createMadeUpHost, type MadeUpHost } from '../support/screens/made-up-host.ts';
import type { Scene } from '../support/screens/scenes.ts';
import { subjectScenes } from '../support/screens/subject-scenes.ts';
import { keepPicture, pictures, violations } from '../support/window/examined.ts';
import { prepareTrial } from '../support/window/prepare-trial.ts';

const sizes = [
  { width: 1366, height: 768 },
  { width: 1920, height: 1080 },
] as const;

let browser: Browser;
beforeAll(async () => {
  browser = await launchBrowser();
}, 60_000);
afterAll(async () => {
  await browser.close();
});

/** Parts that stick out of the window or of what they stand in. */
function cutParts(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const holders = document.querySelectorAll('.subject, .subject section, .subject section > div, .subject-stop');
    const cut = [...holders].flatMap((holder) => {
      const outer = holder.getBoundingClientRect();
      return [...holder.children]
        .map((part) => ({ part, box: part.getBoundingClientRect(), text: part.scrollWidth - part.clientWidth }))
        .filter(({ box, text }) => {
          const down = Math.max(box.bottom - outer.bottom, outer.top - box.top);
          return down > 1 || Math.max(box.right - outer.right, outer.left - box.left) > 1 || text > 1;
        })
        .map(({ part, box }) => `${holder.className} > ${part.tagName}.${part.className} ${Math.round(box.bottom)}`);
    });
    const page = document.documentElement;
    return page.scrollHeight > page.clientHeight ? [...cut, 'the page scrolls'] : cut;
  });
}

describe('the screen of the subject', () => {
  let madeUp: MadeUpHost;
  let door: BrowserDoor;
  let page: Page;
  const complaints = watchComplaints();

  const [first] = subjectScenes;
  if (first === undefined) throw new Error('there is no scene');

  beforeAll(async () => {
    madeUp = createMadeUpHost(first);
    door = await openBrowserDoor(madeUp.host, {
      port: 0,
      files: readStaticFiles(join(import.meta.dirname, '../../build/out/renderer')),
      onDefect: (error, where) => complaints.note(`door ${where}: ${String(error)}`),
    });
    page = await browser.newPage();
    await complaints.listen(page.context());
    await page.goto(`${door.issueAddress()}#/subject`);
    await page.waitForSelector('main.subject');
  }, 60_000);
  afterAll(async () => {
    await page.close();
    await door.close();
  });

  async function show(scene: Scene): Promise<void> {
    const version = madeUp.show(scene);
    await page.waitForSelector(`main[data-snapshot="${version}"]`);
    await page.waitForTimeout(pictures === undefined ? 150 : 700);
  }

  it.each(subjectScenes.map((scene) => [scene.name, scene] as const))('%s is whole, and clean', async (name, scene) => {
    await show(scene);
    for (const theme of ['light', 'dark']) {
      await page.evaluate((wanted) => {
        document.documentElement.dataset['theme'] = wanted;
      }, theme);
      for (const size of sizes) {
        await page.setViewportSize(size);
        await page.waitForTimeout(60);
        await keepPicture(page, `${name}-${theme}-${size.width}`);
        expect(await cutParts(page)).toEqual([]);
      }
      expect(await violations(page)).toEqual([]);
    }
  });

  it('moves its figure in the beat, and stands still in a hold', async () => {
    const figure = () =>
      page.evaluate(() => document.querySelector<HTMLCanvasElement>('.subject-figure')?.toDataURL() ?? '');
    const differ = async (): Promise<boolean> => {
      const before = await figure();
      await page.waitForTimeout(400);
      return (await figure()) !== before;
    };
    const scene = (name: string): Scene => {
      const found = subjectScenes.find((one) => one.name === name);
      if (found === undefined) throw new Error(`there is no scene ${name}`);
      return found;
    };
    await show(scene('subject-march'));
    expect(await differ()).toBe(true);
    await show(scene('subject-held'));
    expect(await differ()).toBe(false);
  });

  it('says the one right thing within two seconds of the host falling silent', async () => {
    madeUp.fallSilent(true);
    await page.getByText('Stop and look at the operator').waitFor({ timeout: 2_000 });
    for (const size of sizes) {
      await page.setViewportSize(size);
      expect(await cutParts(page)).toEqual([]);
      await keepPicture(page, `subject-lost-${size.width}`);
    }
    expect(await violations(page)).toEqual([]);
  });
});

describe('a subject at a second display', () => {
  const complaints = watchComplaints();
  let folder: ReturnType<typeof temporaryFolder>;
  let context: BrowserContext;
  let program: StartedProgram;

  beforeEach(async () => {
    folder = temporaryFolder();
    context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
    const scenario = writeQuickScenario(folder.path, ['march']);
    program = startProgram(folder.path, [
      ...[process.execPath, built, 'start', '--virtual-rig', scenario, '--seed', '3'],
    ]);
  });
  afterEach(async () => {
    await context.close();
    await program.end();
    folder.clear();
  });

  it('sees what to do, stops the trial, and can do nothing else', async () => {
    await complaints.listen(context);
    const operator = await context.newPage();
    await operator.goto(await program.address());
    await operator.getByText('4 of 4 instruments').waitFor({ timeout: 20_000 });
    const opening = context.waitForEvent('page');
    await operator.getByRole('button', { name: /Subject.s display/ }).click();
    const display = await opening;
    await display.getByRole('heading', { name: 'Please wait' }).waitFor();
    await operator.getByRole('button', { name: /Subject.s display: open/ }).waitFor({ timeout: 5_000 });
    expect(await display.locator('.subject-stop').isDisabled()).toBe(true);

    await prepareTrial(operator, { study: 'Second display', heartRateLimit: '200' });
    await display.getByRole('heading', { name: 'We begin soon' }).waitFor({ timeout: 5_000 });
    await operator.keyboard.press('Space');
    await operator.keyboard.press('Enter');
    await display.getByText('Stand still, breathe normally.').waitFor({ timeout: 5_000 });
    // Held by the operator: the subject rests. Their display is no company for a trial, so nothing else holds it.
    await operator.keyboard.press('Space');
    await display.getByRole('heading', { name: 'Rest now' }).waitFor({ timeout: 3_000 });
    await operator.keyboard.press('Space');
    await operator.keyboard.press('Enter');
    await display.getByRole('heading', { name: 'March on the spot' }).waitFor({ timeout: 60_000 });
    expect(Number(await display.locator('.subject-seconds').textContent())).toBeGreaterThan(0);
    await keepPicture(display, 'subject-live');

    // Keys of the operator do nothing here.
    for (const key of ['Space', 'Enter', 'm', 'r', 'n']) await display.keyboard.press(key);
    await display.waitForTimeout(300);
    expect(await operator.locator('.now-held, .now-stopped').count()).toBe(0);

    await display.getByRole('button', { name: /STOP ME/ }).dispatchEvent('pointerdown');
    await operator.locator('.now-stopped').waitFor({ timeout: 2_000 });
    await display.getByRole('heading', { name: 'Stopped' }).waitFor({ timeout: 2_000 });
    await display.getByText('Keep moving gently, or sit down.').waitFor();
    await operator.getByText('The subject stopped, on their own display.').first().waitFor({ timeout: 3_000 });
    await keepPicture(operator, 'subject-stopped-operator');
  });

  it('is not left alone with a trial: without the operator’s window it is held', async () => {
    const operator = await context.newPage();
    await operator.goto(await program.address());
    await operator.getByText('4 of 4 instruments').waitFor({ timeout: 20_000 });
    const opening = context.waitForEvent('page');
    await operator.getByRole('button', { name: /Subject.s display/ }).click();
    const display = await opening;
    await prepareTrial(operator, { study: 'Alone', heartRateLimit: '200' });
    await operator.keyboard.press('Space');
    await operator.keyboard.press('Enter');
    await display.getByText('Stand still, breathe normally.').waitFor({ timeout: 5_000 });
    await operator.close();
    await display.getByRole('heading', { name: 'Rest now' }).waitFor({ timeout: 8_000 });
  });
});
