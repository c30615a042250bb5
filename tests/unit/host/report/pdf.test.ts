import { beforeAll, describe, expect, it } from 'vitest';
import { reportPdf } from '../../../../src/host/report/pdf.ts';
import type { ReportSource } from '../../../../src/report/source.ts';
import { trialReport } from '../../../../src/report/trial-report.ts';
import { readPdf, type PdfItem, type ReadPdf } from '../../../support/report/read-pdf.ts';
import {
  hostileNames,
  reportSource,
  withDetails,
  withDoubts,
  withExercises,
  withHeader,
} from '../../../support/report/report-source.ts';

const digest = '0123456789abcdef'.repeat(4);
const pdfOf = (source: ReportSource): Promise<Uint8Array> => reportPdf(trialReport(source), digest);
const readOf = async (source: ReportSource): Promise<ReadPdf> => readPdf(await pdfOf(source));
const source = withHeader(reportSource(), { virtual: true, requirementPercent: 0.5 });
const latin1 = (bytes: Uint8Array): string => Buffer.from(bytes).toString('latin1');

/** Pieces of text that lie over each other by more than a hair. */
function overlapping(items: readonly PdfItem[]): string[] {
  return items.flatMap((one, index) =>
    items.slice(index + 1).flatMap((other) => {
      const across = Math.min(one.x + one.width, other.x + other.width) - Math.max(one.x, other.x);
      const down = Math.min(one.y + one.height, other.y + other.height) - Math.max(one.y, other.y);
      return across > 1 && down > Math.min(one.height, other.height) * 0.45 ? [`${one.text} / ${other.text}`] : [];
    }),
  );
}

function expectInside({ pages }: ReadPdf): void {
  for (const { items, width, height } of pages) {
    for (const { x, y, width: wide, height: tall, text } of items) {
      expect(x, text).toBeGreaterThanOrEqual(47);
      expect(x + wide, text).toBeLessThanOrEqual(width - 47);
      expect(y, text).toBeGreaterThan(10);
      expect(y + tall, text).toBeLessThan(height - 10);
    }
    expect(overlapping(items)).toEqual([]);
  }
}

describe('the report as a PDF', () => {
  let bytes: Uint8Array;
  let read: ReadPdf;
  beforeAll(async () => {
    bytes = await pdfOf(source);
    read = await readPdf(bytes);
  }, 60_000);

  it('is the same bytes again', async () => {
    expect(Buffer.compare(Buffer.from(await pdfOf(source)), Buffer.from(bytes))).toBe(0);
  }, 60_000);

  it('knows its title, its language, and the time of what it shows instead of its own', () => {
    const { info } = read;
    expect(info).toMatchObject({
      Title: `How much leaks into ${source.record.header.ensemble}`,
      Language: 'en',
      CreationDate: 'D:20261124140300Z',
      ModDate: 'D:20261124140300Z',
      PDFFormatVersion: '1.7',
    });
    expect(latin1(bytes)).toContain('/DisplayDocTitle true');
  });

  it('has all its type inside, and none of the machine', () => {
    const raw = latin1(bytes);
    const descriptors = raw.match(/\/Type \/FontDescriptor/g) ?? [];
    expect(descriptors.length).toBeGreaterThanOrEqual(3);
    expect(raw.match(/\/FontFile[23]? \d+ 0 R/g)).toHaveLength(descriptors.length);
    const names = [...raw.matchAll(/\/BaseFont \/([^\s/]+)/g)].map((match) => match[1] ?? '');
    expect(names.length).toBeGreaterThan(0);
    for (const name of names) expect(name).toMatch(/^[A-Z]{6}\+(AtkinsonHyperlegible|OpenSans)/);
  });

  it('shows every value of the assessment beside its probe', () => {
    const text = read.pages.map((page) => page.text).join(' ');
    const { ports } = source.record.rig;
    let from = text.indexOf('Every value with both intervals');
    expect(from).toBeGreaterThan(0);
    for (const cell of source.assessment.details.cells) {
      const label = ports.find(({ probe }) => probe === cell.probe)?.label ?? '';
      const intervals = '[0-9.]+ to [0-9.]+ [0-9.]+ to [0-9.]+';
      const row = new RegExp(`${label} (?:<\\s)?([−0-9.]+) ${intervals} ([0-9.]+) (\\d+) `, 'g');
      row.lastIndex = from;
      const found = row.exec(text);
      const value = Number((found?.[1] ?? 'nothing').replace('−', '-'));
      expect(Math.abs(value / (cell.windowPercent ?? Number.NaN) - 1), `${cell.exercise} ${cell.probe}`).toBeLessThan(
        0.005,
      );
      expect(Number(found?.[3])).toBe(cell.readings);
      from = row.lastIndex;
    }
  });

  it('says virtual, its digest and its place on every page', () => {
    read.pages.forEach(({ text }, index) => {
      expect(text).toContain('Virtual data, cannot be signed');
      expect(text).toContain(`Page ${index + 1} of ${read.pages.length}`);
      expect(text).toContain(`report ${digest.slice(0, 16)}`);
    });
  });

  it('keeps the first page to itself', () => {
    expect(read.pages[0]?.text).toContain('Read this with care');
    expect(read.pages[1]?.text).toContain('Identification');
  });

  it('keeps everything inside its margins, and nothing over anything else', () => {
    expectInside(read);
  });

  it('prints digests whole', () => {
    const text = read.pages.map((page) => page.text.replaceAll(' ', '')).join('');
    for (const character of 'abcdef') expect(text).toContain(character.repeat(64));
    // Each on one line: what is compared by eye is not broken anywhere.
    const items = read.pages.flatMap((page) => page.items.map((item) => item.text));
    for (const character of 'abcdef') expect(items).toContain(character.repeat(64));
  });
});

describe('a long PDF', () => {
  it('repeats the heads of its tables, and cuts no row', async () => {
    const long = withExercises(source, 18);
    const read = await readOf(long);
    expectInside(read);
    const withValues = read.pages.filter(({ text }) => /[0-9.]+ to [0-9.]+ [0-9.]+ to [0-9.]+ [0-9.]+ \d+ /.test(text));
    expect(withValues.length).toBeGreaterThan(2);
    let rows = 0;
    for (const { text } of withValues) {
      expect(text).toContain('Air seen');
      expect(text).toContain('Flags');
      rows += text.match(/[0-9.]+ to [0-9.]+ [0-9.]+ to [0-9.]+ [0-9.]+ \d+ /g)?.length ?? 0;
    }
    expect(rows).toBe(long.assessment.details.cells.length);
    // A group's heading never stands without its rows.
    for (const { text } of withValues)
      expect(text).not.toMatch(/\d+\. Movement number \d+ (?:Made with|\d+\. Movement)/);
  }, 120_000);
});

describe('a PDF of odd things', () => {
  it('stands without cells', async () => {
    const overall = { ...source.assessment.details.overall, windowPercent: null, cells: 0 };
    const read = await readOf(withDetails(source, { cells: [], overall }));
    expect(read.pages[0]?.text).toContain('This trial gives no result.');
    expectInside(read);
  }, 60_000);

  it('writes missing values in words', async () => {
    const cells = source.assessment.details.cells.map((cell) => ({
      ...cell,
      ...{ windowPercent: null, detectionLimitPercent: null, flagged: true },
      flags: ['no-zero', 'port-unconfirmed', 'problem-readings', 'incomplete'] as const,
    }));
    const read = await readOf(withDetails(source, { cells }));
    const text = read.pages.map((page) => page.text).join(' ');
    expect(text.match(/no result – –/g)).toHaveLength(cells.length);
    expectInside(read);
  }, 60_000);

  it.each([5, 6, 9, 14])('has room for long words and doubts in every value of %i probes', async (probes) => {
    const doubtful = withHeader(withDoubts(source, probes), { ensemble: 'Coverall with hood, taped at every edge' });
    const read = await readOf(doubtful);
    expectInside(read);
    expect(read.pages[0]?.text).toContain('more reasons, which stand with the results');
    expect(read.pages[1]?.text).toContain('Identification');
    for (const { text, items } of read.pages) {
      // Above the foot stands no heading: what it heads would be on another page.
      const lowest = items.filter(({ y }) => y > 60).reduce((low, one) => (one.y < low.y ? one : low));
      expect(lowest.height, `${lowest.text} of ${text.slice(0, 60)}`).toBeLessThan(11);
    }
    const whole = read.pages.map(({ text }) => text.replaceAll(/\s/g, '')).join('');
    for (const { label } of doubtful.record.rig.ports) expect(whole).toContain(label.replaceAll(' ', ''));
    // A number stays in one piece.
    for (const { items } of read.pages) for (const { text } of items) expect(text).not.toMatch(/^0\.0*$/);
  }, 120_000);

  it('keeps banner and foot on every page whatever the names are made of', async () => {
    const wide = { ensemble: 'W'.repeat(80), subject: 'W'.repeat(40) };
    const read = await readOf(withHeader(source, wide));
    expectInside(read);
    for (const { items, text } of read.pages) {
      expect(text).toContain('Virtual data, cannot be signed');
      expect(text).toMatch(/rig version \d+/);
      // The head of a page is one line.
      expect(new Set(items.filter(({ y }) => y > 800).map(({ y }) => Math.round(y))).size).toBeLessThanOrEqual(2);
    }
  }, 60_000);

  it('says beside the verdict and the protection factor that they rest on doubt', async () => {
    const read = await readOf(withDoubts(source));
    expect(read.pages[0]?.text).toContain('No verdict: values in the mean are in doubt');
    const text = read.pages.map((page) => page.text).join(' ');
    expect(text).toMatch(/In doubt, because values in its mean are: protection factor of .*the mean of all\./);
  }, 60_000);

  it('tears no word of a heading, and breaks a label at its hyphen first', async () => {
    const read = await readOf(withDoubts(source));
    const items = read.pages.flatMap((page) => page.items.map(({ text }) => text.trim()));
    for (const word of ['before,', 'Lead-in,', 'Detection', 'Readings']) {
      expect(items.some((text) => text.split(' ').includes(word)), word).toBe(true);
    }
    expect(items).toContain('Brustmitteunterhalb-');
  }, 60_000);

  it.each([
    {
      names: { ensemble: hostileNames.chinese, subject: hostileNames.hebrew, operator: hostileNames.arabic },
      shown: ['[U+9632][U+62A4][U+670D]', '[U+05D7][U+05DC][U+05D9][U+05E4][U+05D4]', '[U+0628][U+062F]'],
      replaced: true,
    },
    {
      names: { ensemble: hostileNames.markup, subject: hostileNames.turning, operator: hostileNames.mixed },
      shown: [
        `<script>alert(1)</script>&"quotes"'single'</svg>`,
        'safe[U+202E]evil[U+2066][U+200F]end',
        'ŁódźΕνδυμαКостюмẤn≤≥τ',
        '[U+1F600]',
      ],
      replaced: true,
    },
    {
      names: { ensemble: hostileNames.long, subject: hostileNames.long, operator: 'nobody' },
      shown: [hostileNames.long],
      replaced: false,
    },
  ])(
    'holds names like $names.ensemble inside their place',
    async ({ names, shown, replaced }) => {
      const read = await readOf(withHeader(source, names));
      expectInside(read);
      const text = read.pages.map((page) => page.text.replaceAll(/\s/g, '')).join('');
      for (const one of shown) expect(text).toContain(one);
      expect(text.includes('standsforacharacter')).toBe(replaced);
    },
    120_000,
  );

  it('says nothing of virtual where the trial is real', async () => {
    const read = await readOf(withHeader(source, { virtual: false }));
    for (const { text } of read.pages) expect(text).not.toMatch(/virtual/i);
  }, 60_000);
});
