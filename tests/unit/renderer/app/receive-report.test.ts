// @vitest-environment jsdom
import { describe, expect, it } from 'vitest';
import type { ReportPart } from '../../../../src/bridge/report-part.ts';
import { receiveReport, type ReportProgress } from '../../../../renderer/app/receive-report.ts';
import { reportWords } from '../../../../renderer/words/report.ts';

async function* sent(...parts: ReportPart[]): AsyncGenerator<ReportPart> {
  yield* parts;
}

describe('a report that arrives in a window', () => {
  it('is put together from its pieces, with its progress said', async () => {
    const said: ReportProgress[] = [];
    const { name, file } = await receiveReport(
      sent(
        { part: 'step', step: 'setting' },
        { part: 'file', name: 't-000000000001.html', bytes: 4 },
        { part: 'piece', base64: btoa('\u0000\u00ff') },
        { part: 'piece', base64: btoa('ab') },
      ),
      (progress) => said.push(progress),
    );
    expect([name, file.size, file.type]).toEqual(['t-000000000001.html', 4, 'text/html']);
    expect(said.map((progress) => reportWords.progress(progress))).toEqual([
      'Setting the pages',
      'Saving, 50 %',
      'Saving, 100 %',
    ]);
  });

  it('is none when the last byte does not come', async () => {
    const half = sent({ part: 'file', name: 'a.pdf', bytes: 4 }, { part: 'piece', base64: btoa('ab') });
    await expect(receiveReport(half, () => undefined)).rejects.toThrow('2 of 4 bytes of the report arrived');
    await expect(receiveReport(sent({ part: 'step', step: 'reading' }), () => undefined)).rejects.toThrow('arrived');
  });
});
