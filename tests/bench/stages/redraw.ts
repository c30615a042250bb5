import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { launchBrowser } from '../../support/browser/find-browser.ts';
import type { Stage } from '../stage.ts';

/** Beside the bench when it is bundled. */
const script = join(import.meta.dirname, 'bench-page.js');
const style = join(import.meta.dirname, 'bench-page.css');

/**
 * The lanes of the console drawn anew in Chromium, up to the pixels. Floor: the chart library that the program uses
 * too, with the readings that are in view as one curve on axes of its own. Product: the program's chart code, with
 * the dwells, plan and limits of a trial under way.
 */
export const redraw: Stage = {
  name: 'redraw',
  unit: 'ms a picture',
  target: 2,
  rounds: { full: 150, tiny: 1 },
  warmUps: 20,
  async begin(size) {
    if (!existsSync(script)) throw new Error(`redraw: ${script} is missing: run it with npm run bench`);
    const browser = await launchBrowser();
    try {
      const page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
      const complaints: string[] = [];
      page.on('pageerror', (error) => complaints.push(error.message));
      await page.setContent('<!doctype html><title>bench</title><body></body>');
      await page.addStyleTag({ content: readFileSync(style, 'utf8') });
      await page.addScriptTag({ content: readFileSync(script, 'utf8') });
      const pictures = size === 'tiny' ? 1 : 2;
      const draw = async (side: 'floor' | 'product'): Promise<number> => {
        const took = await page.evaluate<unknown>(`bench.${side}(${pictures})`);
        const [complaint] = complaints;
        if (complaint !== undefined || typeof took !== 'number') throw new Error(`redraw: ${complaint ?? 'no number'}`);
        return took / pictures;
      };
      return { floor: () => draw('floor'), product: () => draw('product'), end: () => browser.close() };
    } catch (error) {
      await browser.close();
      throw error;
    }
  },
};
