// @vitest-environment jsdom
import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { reportHtml } from '../../../src/report/html.ts';
import type { ReportSource } from '../../../src/report/source.ts';
import { trialReport } from '../../../src/report/trial-report.ts';
import { hostileNames, reportSource, withHeader } from '../../support/report/report-source.ts';

const source = reportSource();
const sha256 = (text: string): string => createHash('sha256').update(text, 'utf8').digest('base64');

function htmlOf(from: ReportSource): string {
  return reportHtml(trialReport(from), {
    fonts: [{ use: 'text', base64: 'AAAA', unicodeRange: 'U+0000-00FF' }],
    sha256,
    documentDigest: '0123456789abcdef'.repeat(4),
  });
}

const parse = (html: string): Document => new DOMParser().parseFromString(html, 'text/html');

describe('the report as a page', () => {
  const html = htmlOf(withHeader(source, { virtual: true }));
  const document = parse(html);

  it('carries a policy that lets in its own style and fonts, and nothing else', () => {
    const policy = document.querySelector('meta[http-equiv="Content-Security-Policy"]')?.getAttribute('content') ?? '';
    const style = document.querySelectorAll('style');
    expect(style).toHaveLength(1);
    expect(policy.split('; ')).toEqual([
      "default-src 'none'",
      `style-src 'sha256-${sha256(style[0]?.textContent ?? '')}'`,
      'font-src data:',
      "base-uri 'none'",
      "form-action 'none'",
    ]);
    expect(document.querySelectorAll('script, link, img, iframe, object, embed, form, [style], [src]')).toHaveLength(0);
    const outside = [...html.matchAll(/(?:href|url\()\s*=?\s*["']?([^"')>]+)/g)].map((match) => match[1] ?? '');
    expect(outside.length).toBeGreaterThan(5);
    expect(outside.filter((target) => !target.startsWith('#') && !target.startsWith('data:font/woff2'))).toEqual([]);
  });

  it('has a language, one title, headings without leaps, and links that lead somewhere', () => {
    expect(document.documentElement.lang).toBe('en');
    expect(document.querySelectorAll('h1')).toHaveLength(1);
    const levels = [...document.querySelectorAll('h1, h2, h3')].map(({ tagName }) => Number(tagName[1]));
    levels.slice(1).forEach((level, index) => expect(level - (levels[index] ?? 1)).toBeLessThanOrEqual(1));
    for (const link of document.querySelectorAll('nav a')) {
      expect(document.querySelector(link.getAttribute('href') ?? '')).not.toBeNull();
    }
    const ids = [...document.querySelectorAll('[id]')].map(({ id }) => id);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('says of every cell of a table what heads it, and of every figure what it shows', () => {
    const tables = document.querySelectorAll('table');
    expect(tables.length).toBeGreaterThan(6);
    for (const table of tables) {
      expect(table.caption?.textContent).not.toBe('');
      const columns = table.querySelectorAll('thead th').length;
      for (const head of table.querySelectorAll('thead th')) expect(head.getAttribute('scope')).toBe('col');
      for (const row of table.querySelectorAll('tbody tr:not([data-group]), tfoot tr')) {
        expect(row.children).toHaveLength(columns);
        expect(row.firstElementChild?.getAttribute('scope')).toBe('row');
      }
    }
    for (const svg of document.querySelectorAll('figure svg')) {
      expect(svg.querySelector('title')?.textContent).not.toBe('');
      expect(svg.querySelector('desc')?.textContent).not.toBe('');
    }
  });

  it('says virtual above everything, on paper on every page, and not of real data', () => {
    expect(document.querySelector('header')?.textContent).toBe('Virtual data, cannot be signed');
    expect(html).toContain('@top-center{content:"Virtual data, cannot be signed"');
    expect(htmlOf(withHeader(source, { virtual: false }))).not.toMatch(/virtual data|@top-center/i);
  });

  it('turns no name into markup', () => {
    for (const name of Object.values(hostileNames)) {
      const hostile = htmlOf(withHeader(source, { ensemble: name, subject: name, operator: name }));
      const parsed = parse(hostile);
      expect(parsed.querySelectorAll('script').length).toBe(0);
      expect(parsed.querySelectorAll('*').length).toBe(document.querySelectorAll('*').length);
    }
    const markup = parse(htmlOf(withHeader(source, { ensemble: hostileNames.markup })));
    expect(markup.querySelector('h1')?.textContent).toBe(`How much leaks into ${hostileNames.markup}`);
    expect(markup.title).toBe(`How much leaks into ${hostileNames.markup}`);
  });
});
