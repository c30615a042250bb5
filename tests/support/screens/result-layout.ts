import type { Page } from 'playwright';

/** How the parts of the result screen lie, before and after it is scrolled to its end. */
export interface ResultLayout {
  /** Parts of the trace that stick out of its section. */
  readonly past: number;
  readonly over: boolean;
  /** How much of the table is hidden in its section, px. */
  readonly hidden: number;
  readonly footSeen: boolean;
  readonly panelHeld: boolean;
}

export function resultLayout(page: Page): Promise<ResultLayout> {
  return page.evaluate(() => {
    const box = (selector: string): DOMRect => {
      const element = document.querySelector(selector);
      if (element === null) throw new Error(`there is no ${selector}`);
      return element.getBoundingClientRect();
    };
    const trace = box('.result-trace');
    const past = [...document.querySelectorAll('.result-trace *')].filter(
      (one) => one.getBoundingClientRect().bottom > trace.bottom + 1,
    );
    const over = trace.bottom > box('.result-cells').top;
    const cells = document.querySelector('.result-cells') ?? document.body;
    const hidden = cells.scrollHeight - cells.clientHeight;
    const main = document.querySelector('main') ?? document.body;
    main.scrollTo(0, main.scrollHeight);
    const foot = box('.result-table tfoot');
    const seen = box('main');
    return {
      past: past.length,
      over,
      hidden,
      footSeen: foot.top > seen.top && foot.bottom <= seen.bottom,
      panelHeld: box('.cell-panel').bottom <= seen.bottom,
    };
  });
}
