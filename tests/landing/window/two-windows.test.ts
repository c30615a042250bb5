import type { Browser, BrowserContext, Page } from 'playwright';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { goneRetryMilliseconds, hostGoneMilliseconds } from '../../../renderer/app/retry.ts';
import { watchComplaints } from '../../support/browser/complaints.ts';
import { launchBrowser } from '../../support/browser/find-browser.ts';
import { temporaryFolder } from '../../support/command-line.ts';
import { program as built, startProgram, type StartedProgram } from '../../support/end-to-end/started-program.ts';
import { keepPicture, violations } from '../../support/window/examined.ts';
import { at, prepareTrial } from '../../support/window/prepare-trial.ts';
import { bothShow, differences, whatItShows, type Shown } from '../../support/window/what-it-shows.ts';
import { writeQuickScenario } from '../../support/runtime/quick-scenario.ts';

const complaints = watchComplaints();
const folder = temporaryFolder();
let browser: Browser;
let context: BrowserContext | undefined;
let program: StartedProgram | undefined;

beforeAll(async () => {
  browser = await launchBrowser();
});
afterEach(async () => {
  await context?.close();
  await program?.end();
});
afterAll(async () => {
  await browser.close();
  folder.clear();
});

async function openWindow(of: BrowserContext, running: StartedProgram): Promise<Page> {
  await complaints.listen(of);
  const page = await of.newPage();
  await page.goto(await running.address());
  await page.waitForSelector('main');
  return page;
}

describe('two windows of one host', () => {
  it('show the same from before the start into an exercise, and each what is done in the other', async () => {
    context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
    const scenario = writeQuickScenario(folder.path, ['march']);
    const command = [process.execPath, built, 'start', '--virtual-rig', scenario, '--seed', '3'];
    program = startProgram(folder.path, command);
    const one = await openWindow(context, program);
    await one.getByText('4 of 4 instruments').waitFor({ timeout: 20_000 });
    // A limit below any heart rate, so that there is an alarm from the first reading on.
    await prepareTrial(one, { study: 'Two windows', heartRateLimit: '60' });
    const other = await openWindow(context, program);
    await at(other, '/trial');
    await other.locator('.console').waitFor();
    const seen: Shown[] = [await bothShow(one, other)];

    // Started in the one: it runs in the other.
    await one.keyboard.press('Space');
    await one.keyboard.press('Enter');
    await other.locator('.now-background').waitFor({ timeout: 3_000 });

    // An alarm stands in both; acknowledged in the other, with a reason: the one shows that.
    await other.locator('.al', { hasText: 'Heart rate high' }).waitFor({ timeout: 5_000 });
    seen.push(await bothShow(one, other));
    await other.keyboard.press('a');
    await other.keyboard.press('1');
    await one.locator('.al-seen', { hasText: 'Heart rate high' }).waitFor({ timeout: 3_000 });

    // A mark of the other stands in the one.
    await other.keyboard.press('m');
    await other.keyboard.press('Escape');
    await one.locator('.tl-mark', { hasText: /Last mark at/ }).waitFor({ timeout: 3_000 });

    // Held in the one, gone on in the other.
    await one.keyboard.press('Space');
    await other.locator('.now-held').waitFor({ timeout: 3_000 });
    seen.push(await bothShow(one, other));
    await other.keyboard.press('Space');
    await other.keyboard.press('Enter');
    await one.locator('.now-held').waitFor({ state: 'detached', timeout: 3_000 });

    // Watched side by side until air of a probe counts in the exercise.
    const exercising = (shown: Shown): boolean => /march/i.test(shown.state[1] ?? '') && shown.state.includes('usable');
    const until = Date.now() + 90_000;
    while (!exercising(seen.at(-1) as Shown)) {
      if (Date.now() > until) throw new Error(`no exercise came: ${JSON.stringify(seen.at(-1))}`);
      seen.push(await bothShow(one, other));
      await one.waitForTimeout(250);
    }
    // Stopped in the other: the one says so.
    await other.keyboard.press('End');
    await one.locator('.now-stopped').waitFor({ timeout: 3_000 });
    seen.push(await bothShow(one, other));

    // There was something to compare, and it went through all of it.
    const titles = new Set(seen.map(({ state }) => state[1]));
    for (const title of ['Ready', 'Background', 'Held', 'Stopped']) expect([...titles]).toContain(title);
    expect(new Set(seen.flatMap(({ lit }) => lit)).size).toBeGreaterThanOrEqual(2);
    expect(seen.filter(({ clockSeconds }) => clockSeconds !== null).length).toBeGreaterThan(20);
    expect(new Set(seen.flatMap(({ alarms }) => alarms))).toContain('Heart rate high, acknowledged');
    expect(seen.filter(({ lit }) => lit.length > 1)).toEqual([]);
    // The comparison can tell one moment of this trial from another.
    const [first, ...later] = seen;
    expect(later.every((shown) => differences(shown, first as Shown).length > 0)).toBe(true);
    expect(differences(await whatItShows(one), { ...(seen.at(-1) as Shown), clockSeconds: 7 })).not.toEqual([]);

    // After a restart nobody is at the rig: what closing needs is said before it is asked for, with the way there.
    await one.waitForTimeout(2_500);
    complaints.provokes('host-away');
    await program.kill();
    const killedAt = Date.now();
    await one.close();
    program = startProgram(folder.path);
    const next = await openWindow(context, program);
    await next.getByRole('button', { name: /back to it/i }).click();
    await next.locator('.now-stopped').waitFor({ timeout: 40_000 });
    await next.getByText('the trial is closed under somebody’s name').waitFor();
    const close = next.getByRole('button', { name: 'Close the trial' });
    expect(await close.isDisabled()).toBe(true);
    await next.getByRole('link', { name: 'Say who is at the rig' }).click();
    await next.getByRole('button', { name: /Kim Lind/ }).click();
    await next.getByText('At the rig: KL').waitFor();
    await at(next, '/trial');
    await close.click({ timeout: 5_000 });
    await next.locator('.now-closed').waitFor({ timeout: 20_000 });

    // The window that stayed has nobody to wait for: it says so, says how to get a new one, and asks seldom.
    await other.locator('.host-lost').waitFor({ timeout: 3_000 });
    await other.locator('.host-gone').waitFor({ timeout: 45_000 });
    expect(Date.now() - killedAt).toBeGreaterThan(hostGoneMilliseconds - 1_000);
    await other.getByText(/start the program again: it opens a new window/i).waitFor();
    expect(await violations(other)).toEqual([]);
    await keepPicture(other, 'host-gone');
    let attempts = 0;
    other.on('websocket', () => (attempts += 1));
    // An attempt takes time of its own, so that from one to the next is more than the wait between them.
    await other.waitForEvent('websocket', { timeout: 2 * goneRetryMilliseconds });
    await other.waitForTimeout(goneRetryMilliseconds);
    // Two channels, each asked for once in that time, or twice at its edges; it was once in a second and a half.
    expect(attempts).toBeGreaterThanOrEqual(1);
    expect(attempts).toBeLessThanOrEqual(4);
  });
});
