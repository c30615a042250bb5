import { createHash } from 'node:crypto';
import { writeFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import axe from 'axe-core';
import type { Browser, Page } from 'playwright';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { pageFonts } from '../../src/host/report/fonts.ts';
import { reportHtml } from '../../src/report/html.ts';
import type { ReportSource } from '../../src/report/source.ts';
import { trialReport } from '../../src/report/trial-report.ts';
import { launchBrowser } from '../support/browser/find-browser.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { hostileNames, reportSource, withDoubts, withHeader } from '../support/report/report-source.ts';

/** A report opened as its reader opens it: a file, in a browser, without the program. */
const folder = temporaryFolder();
let browser: Browser;
let source: ReportSource;

beforeAll(async () => {
  source = withHeader(reportSource(), { virtual: true, requirementPercent: 0.5 });
  browser = await launchBrowser();
}, 60_000);
afterAll(async () => {
  await browser.close();
  folder.clear();
});

interface Opened {
  readonly page: Page;
  /** Everything but the file itself that the browser went for. */
  readonly requests: string[];
  /** What it complained of, violations of the policy among it. */
  readonly complaints: string[];
}

async function open(from: ReportSource, width = 1100): Promise<Opened> {
  const path = folder.file(
    `report-${createHash('sha256').update(JSON.stringify(from.record.header)).digest('hex')}.html`,
  );
  const sha256 = (text: string): string => createHash('sha256').update(text).digest('base64');
  writeFileSync(path, reportHtml(trialReport(from), { fonts: pageFonts(), sha256, documentDigest: 'ab'.repeat(32) }));
  const page = await browser.newPage({ viewport: { width, height: 1000 } });
  const requests: string[] = [];
  const complaints: string[] = [];
  page.on('request', (request) => {
    if (!request.url().startsWith('data:font/woff2') && request.url() !== pathToFileURL(path).href) {
      requests.push(request.url());
    }
  });
  page.on('console', (message) => complaints.push(message.text()));
  page.on('pageerror', (error) => complaints.push(error.message));
  await page.goto(pathToFileURL(path).href);
  await page.evaluate(() => document.fonts.ready);
  return { page, requests, complaints };
}

async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  return page.evaluate(async () => {
    interface Found {
      readonly violations: readonly { readonly id: string; readonly nodes: readonly { readonly html: string }[] }[];
    }
    const { axe: checker } = window as unknown as { axe: { run(context: Document): Promise<Found> } };
    const found = await checker.run(document);
    return found.violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`);
  });
}

describe('the report as a page in a browser', () => {
  it('fetches nothing, breaks no policy, shows its own type, and is clean for axe', async () => {
    const { page, requests, complaints } = await open(source);
    const loaded = await page.evaluate(() =>
      [...document.fonts].filter(({ status }) => status === 'loaded').map(({ family }) => family.replaceAll('"', '')),
    );
    expect(new Set(loaded)).toEqual(new Set(['Report', 'Report Mono']));
    expect(await violations(page)).toEqual([]);
    expect(requests).toEqual([]);
    expect(complaints).toEqual([]);
    await page.close();
  });

  it('refuses a script and a style that somebody puts in', async () => {
    const { page, complaints } = await open(source);
    const ran = await page.evaluate(async () => {
      const script = document.createElement('script');
      script.textContent = 'document.body.dataset.ran = "yes"';
      document.body.append(script);
      await new Promise((resolve) => setTimeout(resolve, 50));
      return document.body.dataset['ran'] ?? 'no';
    });
    expect(ran).toBe('no');
    expect(complaints.join(' ')).toMatch(/Content Security Policy/);
    await page.close();
  });

  it.each(Object.entries(hostileNames))('holds a name of %s inside its place', async (_, name) => {
    const { page, requests, complaints } = await open(withHeader(source, { ensemble: name, subject: name }));
    const wider = await page.evaluate(
      () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
    );
    expect(wider).toBeLessThanOrEqual(0);
    expect([...requests, ...complaints]).toEqual([]);
    await page.close();
  });

  it('is clean for axe with names of every kind', async () => {
    const { markup, long, hebrew } = hostileNames;
    const { page } = await open(withHeader(source, { ensemble: long, subject: markup, operator: hebrew }));
    expect(await violations(page)).toEqual([]);
    await page.close();
  });

  it.each([320, 360, 780, 1366])('has room in a window %i wide, with and without doubts', async (width) => {
    for (const from of [source, withHeader(withDoubts(source, 9), { subject: 'In doubt' })]) {
      const { page } = await open(from, width);
      const wide = await page.evaluate(() => {
        const { clientWidth, scrollWidth } = document.documentElement;
        const past = [...document.querySelectorAll('body *')].filter(
          (one) => one.closest('.scroll, .hidden') === null && one.getBoundingClientRect().right > clientWidth + 1,
        );
        return [scrollWidth - clientWidth, ...past.map((one) => one.outerHTML.slice(0, 80))];
      });
      expect(wide).toEqual([0]);
      const letters = await page.evaluate(() =>
        [...document.querySelectorAll<SVGTextElement>('figure svg text')].map((one) => {
          const matrix = one.getScreenCTM();
          return Number.parseFloat(getComputedStyle(one).fontSize) * (matrix?.a ?? 0);
        }),
      );
      expect(Math.min(...letters)).toBeGreaterThan(9);
      // Digests stand on one line of 64, or on two of 32.
      const digests = await page.evaluate(() =>
        [...document.querySelectorAll('dd .wire')]
          .filter((one) => one.textContent.length === 64)
          .map((one) => {
            const range = document.createRange();
            range.selectNodeContents(one);
            const halves = [...range.getClientRects()].filter((half) => half.width > 0);
            return {
              tops: new Set(halves.map(({ top }) => Math.round(top))).size,
              widths: halves.map((half) => Math.round(half.width)),
              copied: (one as HTMLElement).innerText,
            };
          }),
      );
      expect(digests.length).toBeGreaterThan(2);
      for (const { tops, widths, copied } of digests) {
        expect(tops).toBe(width > 800 ? 1 : 2);
        // A break, where there is one, is in the middle.
        expect(new Set(widths).size).toBe(1);
        expect(copied).toMatch(/^[0-9a-f]{64}$/);
      }
      expect(await violations(page)).toEqual([]);
      await page.close();
    }
  }, 30_000);
});
