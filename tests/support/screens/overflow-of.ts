import type { Page } from 'playwright';

/** By how many pixels a page is too wide and too high for its window. */
export function overflowOf(page: Page): Promise<{ readonly across: number; readonly down: number }> {
  return page.evaluate(() => {
    const { scrollHeight, clientHeight } = document.documentElement;
    // What scrolls inside of the page is looked at as well: a screen that is too wide is cut, not scrolled.
    const parts = [document.documentElement, ...document.querySelectorAll('main, main > *')];
    const across = Math.max(...parts.map((one) => one.scrollWidth - one.clientWidth));
    return { across, down: scrollHeight - clientHeight };
  });
}
