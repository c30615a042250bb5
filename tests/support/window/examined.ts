import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import axe from 'axe-core';
import type { Page } from 'playwright';

/** Rules of accessibility that a page breaks now, each with where; empty when none. */
export async function violations(page: Page): Promise<string[]> {
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axe.source);
  return page.evaluate(async () => {
    interface Found {
      readonly violations: readonly { readonly id: string; readonly nodes: readonly { readonly html: string }[] }[];
    }
    const { axe: checker } = window as unknown as {
      axe: { run(context: Document, options: object): Promise<Found> };
    };
    const rules = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
    const found = await checker.run(document, { runOnly: rules });
    return found.violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`);
  });
}

/** Where pictures go, when somebody wants to look at them; undefined: nothing is kept. */
export const pictures = process.env['CHAMBERSIDE_PICTURES'];

/** Keeps a picture of a page under a name, when somebody wants to look at it. */
export async function keepPicture(page: Page, name: string): Promise<void> {
  if (pictures === undefined) return;
  mkdirSync(pictures, { recursive: true });
  await page.screenshot({ path: join(pictures, `${name}.png`) });
}
