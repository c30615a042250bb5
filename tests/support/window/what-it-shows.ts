import type { Page } from 'playwright';

/** What an operator reads off a console. */
export interface Shown {
  /** State: the line above the headline, the headline, whether air counts, what comes next. */
  readonly state: readonly string[];
  /** Countdown or count up, s; null where none is shown. */
  readonly clockSeconds: number | null;
  /** Each alarm with its headline, and whether somebody has acknowledged it. */
  readonly alarms: readonly string[];
  /** Names of the lanes that are lit: one at most. */
  readonly lit: readonly string[];
  /** The blocks of the series, without what counts in them. */
  readonly series: readonly string[];
  readonly mark: string;
  /** Hands that can be used now. */
  readonly hands: readonly string[];
}

/** Reads a console as it is drawn. */
export function whatItShows(page: Page): Promise<Shown> {
  return page.evaluate(() => {
    const texts = (selector: string): string[] =>
      [...document.querySelectorAll(selector)].map((one) => (one.textContent ?? '').replaceAll(/\s+/g, ' ').trim());
    const [clock] = texts('.countdown');
    const parts = clock?.split(':').map(Number);
    return {
      state: texts('.now-above, .now-title, .now-air > *, .next-block .next-title, .next-block .label'),
      clockSeconds: parts === undefined ? null : parts.reduce((sum, part) => sum * 60 + part, 0),
      alarms: [...document.querySelectorAll<HTMLElement>('.shelf .al')].map((one) => {
        const head = one.querySelector<HTMLElement>('.al-head')?.innerText ?? '';
        return `${head}${one.classList.contains('al-seen') ? ', acknowledged' : ''}`;
      }),
      lit: texts('.lane-lit .lane-name'),
      series: [...document.querySelectorAll('.tl-block')].map((one) => one.className),
      mark: texts('.tl-mark').join(),
      hands: texts('.hands button:not(:disabled)'),
    };
  });
}

/** Two windows need not draw a second in the same instant. */
const toleranceSeconds = 1;

/** What two consoles show differently, in words; empty when they show the same. */
export function differences(one: Shown, other: Shown): string[] {
  const found: string[] = [];
  for (const part of ['state', 'alarms', 'lit', 'series', 'mark', 'hands'] as const) {
    const [first, second] = [JSON.stringify(one[part]), JSON.stringify(other[part])];
    if (first !== second) found.push(`${part}: ${first} and ${second}`);
  }
  const [first, second] = [one.clockSeconds, other.clockSeconds];
  const unlike = first === null || second === null ? first !== second : Math.abs(first - second) > toleranceSeconds;
  if (unlike) found.push(`clock: ${first} s and ${second} s`);
  return found;
}

/** A snapshot reaches two windows one after the other; what still differs then is a difference. */
const settleMilliseconds = 1_000;

/** Both windows, read at once, until they agree. @throws Error that says in what they do not. */
export async function bothShow(one: Page, other: Page): Promise<Shown> {
  const until = Date.now() + settleMilliseconds;
  for (;;) {
    const [first, second] = await Promise.all([whatItShows(one), whatItShows(other)]);
    const found = differences(first, second);
    if (found.length === 0) return first;
    if (Date.now() > until) throw new Error(`two windows show different things: ${found.join('; ')}`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}
