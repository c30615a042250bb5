import { join } from 'node:path';
import type { Browser, Page } from 'playwright';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openBrowserDoor, type BrowserDoor } from '../../src/host/door/browser-door.ts';
import { readStaticFiles } from '../../src/host/door/static-files.ts';
import { watchComplaints } from '../support/browser/complaints.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { collidingParts } from '../support/screens/colliding-parts.ts';
import { addLimit, compareVersions, editSeries, enterCertificate } from '../support/screens/fill-forms.ts';
import { fillPlan, findPort, lookAtSeries } from '../support/screens/fill-forms.ts';
import { createMadeUpHost } from '../support/screens/made-up-host.ts';
import { overflowOf } from '../support/screens/overflow-of.ts';
import { resultLayout } from '../support/screens/result-layout.ts';
import { sceneCalled, scenes, type Scene } from '../support/screens/scenes.ts';
import { keepPicture, pictures, violations } from '../support/window/examined.ts';

const sizes = [{ width: 1366, height: 768 }, { width: 1920, height: 1080 }] as const;
const themes = ['light', 'dark'] as const;

const first = scenes[0];
if (first === undefined) throw new Error('there is no scene');
const madeUp = createMadeUpHost(first);
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
  page = await browser.newPage();
  await complaints.listen(page.context());
  page.on('websocket', () => (sockets += 1));
  await page.goto(door.issueAddress());
  await page.waitForSelector('main');
}, 60_000);

afterAll(async () => {
  await browser.close();
  await door.close();
});

/** Sockets that the page has opened: two for as long as nothing goes wrong. */
let sockets = 0;

async function show(scene: Scene, theme: string, size: { width: number; height: number }): Promise<void> {
  const version = madeUp.show(scene);
  await page.setViewportSize(size);
  await page.evaluate(
    (address) => {
      window.location.hash = address;
    },
    scene.address,
  );
  await page.waitForSelector(`[data-snapshot="${version}"] main`);
  await switchTo(theme);
  // For what a screen asks for when it opens; a picture also waits for what follows the clock.
  await drawn(pictures === undefined ? 150 : 600);
}

/** By the button in the title bar, which says which theme it brings. */
async function switchTo(theme: string): Promise<void> {
  await page.evaluate((wanted) => {
    const other = document.documentElement.dataset['theme'] !== wanted;
    if (other) document.querySelector<HTMLElement>('.bar-theme:not(.bar-subject)')?.click();
  }, theme);
  expect(await page.evaluate(() => document.documentElement.dataset['theme'])).toBe(theme);
}

/** Waits for what is asked for while a screen is built, and for two frames in which it is drawn. */
async function drawn(milliseconds: number): Promise<void> {
  await page.waitForTimeout(milliseconds);
  await page.evaluate(
    () => new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(() => resolve(null)))),
  );
}

async function expectWhole(scene?: Scene): Promise<void> {
  const overflow = await overflowOf(page);
  expect(overflow.across, 'it is too wide').toBeLessThanOrEqual(0);
  const isLive = scene?.address === '/trial' || scene?.address === '/replay';
  if (isLive) expect(overflow.down, 'a live screen scrolls').toBeLessThanOrEqual(0);
}

/** What is on the screen now, in both themes and both sizes: nothing sticks out, and no rule is broken. */
async function expectCleanEverywhere(name: string): Promise<void> {
  for (const theme of themes) {
    await switchTo(theme);
    for (const size of sizes) {
      await page.setViewportSize(size);
      await drawn(0);
      await keepPicture(page, `${name}-${theme}-${size.width}`);
      await expectWhole();
    }
    expect(await violations(page)).toEqual([]);
  }
}

describe.each(scenes)('the screen "$name"', (scene) => {
  // Both themes in both sizes are drawn; each theme is examined in one of the sizes, and each size in one theme.
  it.each([
    ['light', sizes[1], sizes[0]],
    ['dark', sizes[0], sizes[1]],
  ] as const)('is whole in both sizes, %s', async (theme, before, size) => {
    await show(scene, theme, before);
    await keepPicture(page, `${scene.name}-${theme}-${before.width}`);
    await expectWhole(scene);
    await page.setViewportSize(size);
    await drawn(0);
    await keepPicture(page, `${scene.name}-${theme}-${size.width}`);
    await expectWhole(scene);
    expect(await violations(page)).toEqual([]);
  });
});

describe.each(themes)('a result with every value in doubt, %s', (theme) => {
  it.each(sizes)('lies over nothing and scrolls to its end, $width', async (size) => {
    await show(sceneCalled('result-doubts'), theme, size);
    expect(await resultLayout(page)).toEqual({ past: 0, over: false, hidden: 0, footSeen: true, panelHeld: true });
  });
});

describe.each([
  [1024, 640],
  [1280, 720],
])('a small window, %i by %i', (width, height) => {
  it.each([
    'console',
    'console-rest',
    'console-alarms',
    'console-watched-alarm',
    'console-held',
    'console-before',
    'console-prepared',
    'console-stopped',
    'replay',
    'replay-alarm',
  ])('has room for every part of %s', async (name) => {
    await show(sceneCalled(name), 'dark', { width, height });
    await keepPicture(page, `${name}-dark-${width}`);
    await expectWhole(sceneCalled(name));
    expect(await collidingParts(page)).toEqual([]);
  });
});

describe('the window', () => {
  it('has kept its two channels through all of that', () => {
    expect(sockets).toBe(2);
  });

  it('draws what is read: the curves of the console are there, and move', async () => {
    await show(sceneCalled('console'), 'light', sizes[1]);
    const picture = () =>
      page.evaluate(() => {
        const canvas = document.querySelector<HTMLCanvasElement>('.lane-chart');
        return canvas?.toDataURL() ?? '';
      });
    const before = await picture();
    await page.waitForTimeout(300);
    expect(await picture()).not.toBe(before);
    expect(await page.textContent('.heart-value')).toMatch(/^\d+$/);
  });

  it('redraws at least twenty times a second', async () => {
    await show(sceneCalled('console'), 'light', sizes[1]);
    const drawn = await page.evaluate(async () => {
      const { prototype } = CanvasRenderingContext2D;
      const clear = prototype.clearRect;
      let count = 0;
      prototype.clearRect = function (...box) {
        if (this.canvas.className === 'lane-chart') count += 1;
        clear.apply(this, box);
      };
      await new Promise((resolve) => setTimeout(resolve, 3_000));
      prototype.clearRect = clear;
      return count / 3;
    });
    expect(drawn).toBeGreaterThanOrEqual(20);
  });

  it.each([
    ['console-alarm', 'a', 'Heart rate high: why?'],
    ['console', 'm', 'Marked at'],
    ['console-held', 'v', 'Valve by hand'],
    ['console-held', ' ', 'Now Enter'],
    ['console', 'r', 'Repeat Side bends'],
    ['console', 'l', 'Lanes'],
  ])('shows what a key opens: %s, %s', async (name, key, words) => {
    for (const theme of themes) {
      await show(sceneCalled(name), theme, sizes[0]);
      await page.keyboard.press(key === ' ' ? 'Space' : key);
      await page.getByText(words).first().waitFor({ timeout: 2_000 });
      await keepPicture(page, `${name}-key-${key === ' ' ? 'space' : key}-${theme}`);
      expect(await violations(page)).toEqual([]);
      await page.keyboard.press(key === 'l' ? 'l' : 'Escape');
    }
  });

  it('lengthens a rest by the key on its control, and says by how much above it and in the series', async () => {
    await show(sceneCalled('console-rest'), 'light', sizes[0]);
    const hand = page.locator('.hand', { hasText: 'Rest +30\u00a0s' });
    expect(await hand.locator('.key').textContent()).toBe('E');
    await page.keyboard.press('e');
    await hand.click();
    await expect.poll(() => madeUp.asked.slice(-2)).toEqual(Array(2).fill('trial.command extend-rest'));
    expect(await page.locator('.now-above').textContent()).toBe('Rest before Side bends · 1:00 longer');
    expect(await page.locator('.tl-longer').allTextContents()).toEqual(['+0:30', '+0:30', '+1:00']);
    await show(sceneCalled('console'), 'light', sizes[0]);
    expect(await hand.isDisabled()).toBe(true);
  });

  it('goes through the list of before the start by its figures, with a second person and a reason', async () => {
    await show(sceneCalled('console-before'), 'light', sizes[0]);
    const asked = madeUp.asked.length;
    await page.keyboard.press('3');
    await page.keyboard.press('4');
    await page.getByRole('dialog', { name: 'Ensemble closed: who has seen it too?' }).waitFor();
    await expectCleanEverywhere('console-before-second');
    await page.keyboard.press('1');
    await page.getByRole('button', { name: 'Pass over: Breathing air and fan' }).click();
    const keep = page.locator('form.console-panel').getByRole('button', { name: 'Pass over' });
    expect(await keep.isDisabled()).toBe(true);
    await page.keyboard.type('3 of 5: air is measured by the hose’s own gauge');
    await expectCleanEverywhere('console-before-reason');
    await page.keyboard.press('Enter');
    const answered = ['well confirmed -', 'ensemble confirmed AM', 'breathing-air passed-over -'];
    await expect.poll(() => madeUp.asked.slice(asked)).toEqual(answered.map((answer) => `trial.answer ${answer}`));
    // What is open holds Space back.
    await page.keyboard.press(' ');
    expect(await page.locator('.next-keys').count()).toBe(0);
  });

  it('draws the trial that a plan makes', async () => {
    await show(sceneCalled('trial-none'), 'light', sizes[0]);
    await show(sceneCalled('plan'), 'light', sizes[0]);
    await fillPlan(page);
    await page.locator('.plan-table').waitFor();
    await expectCleanEverywhere('plan-filled');
    await lookAtSeries(page);
  });

  it('has a series begun from a template, its rest lengthened and a dwell split, by keyboard alone', async () => {
    await show(sceneCalled('series'), 'light', sizes[0]);
    await editSeries(page, expectCleanEverywhere);
    await expect.poll(() => madeUp.asked.at(-1)).toMatch(/^series\.save .*"restSeconds":45,/);
  });

  it('has a certificate entered and another withdrawn, each with a PIN', async () => {
    await show(sceneCalled('trial-none'), 'light', sizes[0]);
    await show(sceneCalled('instruments'), 'light', sizes[0]);
    await enterCertificate(page, expectCleanEverywhere, madeUp.asked);
  });

  it('has a rig changed in a form', async () => {
    await show(sceneCalled('trial-none'), 'light', sizes[0]);
    await show(sceneCalled('rig'), 'light', sizes[0]);
    await compareVersions(page, expectCleanEverywhere);
    await page.keyboard.press('e');
    await page.getByRole('heading', { name: 'Change the rig' }).waitFor();
    await expectCleanEverywhere('rig-editor');
    await page.getByLabel('Port of the machine').first().fill('/dev/pts/3');
    await page.getByText('A port here belongs to a program of this machine').waitFor();
    await keepPicture(page, 'rig-editor-software-port');
    await addLimit(page);
    await expectCleanEverywhere('rig-editor-limit');
    await page.getByLabel('Virtual rig: its instruments exist only in software').check();
    await page.getByRole('button', { name: 'Save as a new version and open it' }).click();
    await expect.poll(() => madeUp.asked.some((one) => /^rig\.save .*"virtual":true/.test(one))).toBe(true);
    const watch = /"watch":\[\{.*"name":"heart-rate-low".*"limit":45/;
    await expect.poll(() => madeUp.asked.some((one) => watch.test(one))).toBe(true);
  });

  it('has an instrument found at a port that may be asked', async () => {
    await show(sceneCalled('rig-trouble'), 'light', sizes[0]);
    await findPort(page, expectCleanEverywhere, madeUp.asked);
  });

  it('plays a trial back by its keys, and has no hand that acts on a trial', async () => {
    await show(sceneCalled('trial-none'), 'light', sizes[0]);
    await show(sceneCalled('replay'), 'light', sizes[0]);
    const from = madeUp.asked.length;
    for (const key of ['p', 'j', 'k', '-', '+', 'End', 'Space', 'm', 'r', 'v', 'a']) await page.keyboard.press(key);
    await page.getByLabel('Moment of the trial').fill('120');
    await page.getByLabel('Moment of the trial').press('ArrowRight');
    await expect.poll(() => madeUp.asked.length - from).toBeGreaterThanOrEqual(7);
    const asked = madeUp.asked.slice(from).map((one) => one.replace(/\d{6,}/, 'µs'));
    expect(asked.slice(0, 5)).toEqual([
      'replay.change {"playing":false}',
      'replay.change {"byMicroseconds":-µs}',
      'replay.change {"byMicroseconds":µs}',
      'replay.change {"step":-1}',
      'replay.change {"step":1}',
    ]);
    expect(asked.every((one) => one.startsWith('replay.change'))).toBe(true);
    expect(madeUp.asked.slice(from)).toContain('replay.change {"atMicroseconds":120000000}');
    expect(await page.locator('.stop, .hand, .hands').count()).toBe(0);
    expect(await page.locator('.bar-replay').textContent()).toBe('Replay 4×');
    await page.keyboard.press('Escape');
    await expect.poll(() => madeUp.asked.at(-1)).toBe('replay.close');
  });

  it('opens every step of an explained cell by keyboard alone', async () => {
    for (const [turn, theme] of themes.entries()) {
      const size = sizes[turn] ?? sizes[0];
      await show(sceneCalled('result-virtual'), theme, size);
      await show(sceneCalled('result'), theme, size);
      const blocks = page.locator('.explain-block > summary');
      await blocks.first().waitFor({ timeout: 5_000 });
      const count = await blocks.count();
      expect(count).toBeGreaterThan(12);
      await page.locator('.doubt-bars').scrollIntoViewIfNeeded();
      await keepPicture(page, `result-doubt-${theme}-${size.width}`);
      expect(await page.locator('.doubt-bars tbody tr').count()).toBeGreaterThan(3);
      await page.locator('.cell-panel').focus();
      let opened = 0;
      for (let presses = 0; presses < 2 * count && opened < count; presses += 1) {
        await page.keyboard.press('Tab');
        const at = await page.evaluate(() => document.activeElement?.matches('.explain-block > summary') ?? false);
        if (!at) continue;
        await page.keyboard.press('Enter');
        opened += 1;
        if (opened === 3) await keepPicture(page, `result-steps-${theme}-${size.width}`);
      }
      expect(await page.locator('.explain-block[open]').count()).toBe(count);
      const panel = page.locator('.cell-panel');
      const across = await panel.evaluate(({ clientWidth, scrollWidth }) => scrollWidth - clientWidth);
      expect(across, 'the steps are wider than the panel').toBeLessThanOrEqual(0);
      expect(await violations(page)).toEqual([]);
    }
  });

  it('stops by End while a note is written', async () => {
    await show(sceneCalled('console'), 'light', sizes[0]);
    await page.keyboard.press('m');
    await page.keyboard.type('a cough ');
    await page.keyboard.press('End');
    await expect.poll(() => madeUp.asked.at(-1)).toBe('trial.command stop');
    await page.keyboard.press('Escape');
  });

  it('says within two seconds that its host is silent, and takes it up again', async () => {
    for (const theme of themes) {
      await show(sceneCalled('console'), theme, sizes[0]);
      // Both clocks are the wall clock of this machine; how long the test itself takes to look is not counted.
      const said = page.evaluate(
        () =>
          new Promise<number>((resolve) => {
            new MutationObserver((_, observer) => {
              if (document.querySelector('.host-lost') === null) return;
              observer.disconnect();
              resolve(Date.now());
            }).observe(document.body, { childList: true, subtree: true });
          }),
      );
      madeUp.fallSilent(true);
      const since = Date.now();
      const seconds = ((await said) - since) / 1000;
      await keepPicture(page, `host-lost-${theme}`);
      expect(await violations(page)).toEqual([]);
      madeUp.fallSilent(false);
      await page.getByText('No contact with the recorder').waitFor({ state: 'detached', timeout: 5_000 });
      expect(seconds).toBeLessThan(2.2);
    }
  });

  it('does not take its own business for silence of the host', async () => {
    await show(sceneCalled('console'), 'light', sizes[0]);
    const said = await page.evaluate(async () => {
      let lost = false;
      const observer = new MutationObserver(() => {
        lost ||= document.querySelector('.host-lost') !== null;
      });
      observer.observe(document.body, { childList: true, subtree: true });
      const until = performance.now() + 2_600;
      while (performance.now() < until) document.body.getBoundingClientRect();
      await new Promise((resolve) => setTimeout(resolve, 1_000));
      observer.disconnect();
      return lost;
    });
    expect(said).toBe(false);
  });

  it('knows no window whose secret is another', async () => {
    complaints.provokes('window-refused');
    await show(sceneCalled('console'), 'light', sizes[0]);
    await page.evaluate(() => {
      sessionStorage.setItem('chamberside-window', 'not-the-secret');
    });
    await page.reload();
    await page.getByText('This window is not known to the recorder').first().waitFor({ timeout: 10_000 });
    expect(await violations(page)).toEqual([]);
    await keepPicture(page, 'refused');
  });
});
