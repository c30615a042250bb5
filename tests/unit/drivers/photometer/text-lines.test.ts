import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/framing/line.ts';
import { parseDecimal } from '../../../../drivers/framing/decimal.ts';
import { createPhotometerCodec } from '../../../../drivers/photometer/text-lines/codec.ts';
import { openPhotometer } from '../../../../drivers/photometer/text-lines/driver.ts';
import { photometerSettingsSchema } from '../../../../drivers/photometer/text-lines/manifest.ts';
import { createPhotometerSimulator } from '../../../../drivers/photometer/text-lines/simulator.ts';
import {
  createManualClock,
  createRandom,
  createRecordingSink,
  createTestCable,
  latin1,
  settlePromises,
} from '../../../contract/drivers/support.ts';

const settingsOf = (settings: Record<string, unknown> = {}) => photometerSettingsSchema.parse(settings);
const plain = { line: 'conc {value} {unit} {status}', checksum: 'none' };
const decode = (line: string, settings: Record<string, unknown> = plain) =>
  createPhotometerCodec(settingsOf(settings)).decode(line);

describe('numbers', () => {
  it.each([
    ['0', 0],
    ['-0', 0],
    ['-0.000', 0],
    ['0.00873', 0.00873],
    ['+12.5', 12.5],
    ['-3.25', -3.25],
    ['5.', 5],
    ['.5', 0.5],
    ['1e3', 1000],
    ['1.5E-3', 0.0015],
    ['-2.5e+2', -250],
    ['007', 7],
  ])('%s is %d', (text, value) => {
    expect(Object.is(parseDecimal(text, '.'), value)).toBe(true);
  });

  it.each([
    '',
    ' ',
    'nan',
    'NaN',
    'inf',
    '-inf',
    'Infinity',
    '1e999',
    '-1e999',
    '.',
    '-',
    '+',
    'e5',
    '1e',
    '1e+',
    '0x10',
    '1_000',
    '1,5',
    '1.2.3',
    '--1',
    '1 2',
    '١',
  ])('%j is no number', (text) => {
    expect(parseDecimal(text, '.')).toBeUndefined();
    expect(decode(`<${text}>`, { line: '<{value}>', checksum: 'none' })).toMatchObject({
      decoded: 'problem',
      code: 'line-undecodable',
    });
  });

  it('reads a decimal comma where the instrument writes one', () => {
    expect(parseDecimal('-1,25', ',')).toBe(-1.25);
    expect(parseDecimal('1.25', ',')).toBeUndefined();
    expect(parseDecimal('1,2,5', ',')).toBeUndefined();
  });
});

describe('photometer line', () => {
  it('converts the unit that the line names', () => {
    const valueOf = (line: string): number => {
      const decoded = decode(line);
      return decoded.decoded === 'value' ? decoded.value : Number.NaN;
    };
    expect(valueOf('conc 8.73 ug/m3 ok')).toBeCloseTo(0.00873, 15);
    expect(valueOf('conc 0.5 g/m3 ok')).toBeCloseTo(500, 9);
  });

  it('knows the words for units that the settings give', () => {
    const settings = { ...plain, unitWords: { '\u00b5g/m\u00b3': 'ug/m3' }, unit: 'ug/m3' };
    expect(decode('conc 12 \u00b5g/m\u00b3 ok', settings)).toEqual({ decoded: 'value', value: 12 });
    expect(createPhotometerCodec(settingsOf(settings)).encode(12, 'ok')).toContain('\u00b5g/m\u00b3');
  });

  it.each(['conc 1 V ok', 'conc 1 furlong ok', 'conc 1 s ok'])('refuses the unit of %s', (line) => {
    expect(decode(line)).toMatchObject({ decoded: 'problem', code: 'line-undecodable' });
  });

  it('refuses a conversion that overflows', () => {
    expect(decode('conc 1e308 g/m3 ok')).toMatchObject({ decoded: 'problem', code: 'line-undecodable' });
  });

  it('gives no reading for a status that is not good, whatever the number', () => {
    expect(decode('conc 1 mg/m3 warming')).toMatchObject({ decoded: 'problem', code: 'status-bad' });
    expect(decode('conc nan mg/m3 fault')).toMatchObject({ decoded: 'problem', code: 'status-bad' });
    expect(decode('conc 1 mg/m3 OK')).toMatchObject({ decoded: 'problem', code: 'status-bad' });
    expect(decode('conc 1 mg/m3 run', { ...plain, goodStatus: ['run', 'ok'] })).toEqual({ decoded: 'value', value: 1 });
  });

  it.each(['conc 1 mg/m3', 'conc 1', '', 'CONC 1 mg/m3 ok', 'conc 1 mg/m3 ok conc 1 mg/m3 ok'])(
    '%j is another line',
    (line) => {
      expect(decode(line).decoded).toBe('problem');
    },
  );

  it('covers with its checksum everything before the mark, blanks included', () => {
    expect(decode('conc 0.00873 mg/m3 ok *5C', {})).toEqual({ decoded: 'value', value: 0.00873 });
    expect(decode('conc 0.00873 mg/m3 ok *5c', {})).toEqual({ decoded: 'value', value: 0.00873 });
    for (const wrong of ['conc 0.00873  mg/m3 ok *5C', 'conc 0.00973 mg/m3 ok *5C', 'conc 0.00873 mg/m3 ok *C5']) {
      expect(decode(wrong, {})).toMatchObject({ decoded: 'problem', code: 'checksum-wrong' });
    }
    for (const none of [
      'conc 0.00873 mg/m3 ok *',
      'conc 0.00873 mg/m3 ok *5',
      'conc 0.00873 mg/m3 ok *5CC',
      'conc 0.00873 mg/m3 ok',
    ]) {
      expect(decode(none, {})).toMatchObject({ decoded: 'problem', code: 'line-undecodable' });
    }
  });

  it('reads the other lines that its README shows', () => {
    const columns = { line: '{any};{value};{status}', decimalMark: ',', goodStatus: ['0'], checksum: 'none' };
    expect(decode('07:31:02;  12,35;0', columns)).toEqual({ decoded: 'value', value: 12.35 });
    expect(decode('07:31:02;  12,35;4', columns)).toMatchObject({ decoded: 'problem', code: 'status-bad' });
    expect(decode('0.512', { line: '{value}', checksum: 'none', unit: 'ug/m3' })).toEqual({
      decoded: 'value',
      value: 0.512,
    });
  });

  it('sums modulo 256 where the settings say so', () => {
    // Sum of "1.5 " is 0x31 + 0x2E + 0x35 + 0x20 = 0xB4.
    const settings = { line: '{value} {checksum}', checksum: 'sum-hex' };
    expect(decode('1.5 B4', settings)).toEqual({ decoded: 'value', value: 1.5 });
    expect(decode('1.5 B5', settings)).toMatchObject({ code: 'checksum-wrong' });
  });

  // Exclusive-or of the characters named in the third column, by hand and not by the code under test.
  const exclusiveOr = (text: string): string =>
    [...latin1(text)]
      .reduce((sum, byte) => sum ^ byte, 0)
      .toString(16)
      .toUpperCase()
      .padStart(2, '0');
  it.each([
    [{ line: '$CONC,{value},mg/m3*{checksum}', checksumSkipsBytes: 1 }, '$CONC,0.512,mg/m3*', 'CONC,0.512,mg/m3'],
    [{ line: '{value},*{checksum}' }, '0.512,*', '0.512,'],
    [{ line: '{value} mg/m3 *{checksum}' }, '0.512 mg/m3 *', '0.512 mg/m3 '],
    [{ line: '{value} *CS={checksum}' }, '0.512 *CS=', '0.512 '],
    [{ line: '{value};;{checksum}' }, '0.512;;', '0.512'],
    [{ line: '{value};cs={checksum}', checksumMark: ';cs=' }, '0.512;cs=', '0.512'],
    [{ line: '{value};cs={checksum}', checksumMark: '=' }, '0.512;cs=', '0.512;cs'],
    [{ line: '{value};cs={checksum}', checksumMark: '' }, '0.512;cs=', '0.512;cs='],
  ])('takes with %j a line that begins %s and whose checksum covers %s', (settings, begins, covered) => {
    expect(decode(`${begins}${exclusiveOr(covered)}`, settings)).toEqual({ decoded: 'value', value: 0.512 });
    const codec = createPhotometerCodec(settingsOf(settings));
    expect(codec.decode(codec.encode(0.512, ''))).toEqual({ decoded: 'value', value: 0.512 });
  });

  it('encodes what it decodes, and a spoiled checksum is always found', () => {
    const layouts = [
      {},
      plain,
      { checksum: 'sum-hex' },
      { line: '#{checksum} {value};{status}', unit: 'V' },
      { line: '{value}', checksum: 'none', decimalMark: ',', resolution: 0.25 },
    ];
    fc.assert(
      fc.property(fc.constantFrom(...layouts), fc.double({ min: -1e6, max: 1e6, noNaN: true }), (layout, value) => {
        const settings = settingsOf(layout);
        const codec = createPhotometerCodec(settings);
        const line = codec.encode(value, 'ok');
        const decoded = codec.decode(line);
        expect(decoded).toMatchObject({ decoded: 'value' });
        if (decoded.decoded === 'value') {
          expect(Math.abs(decoded.value - value)).toBeLessThanOrEqual(
            settings.resolution * 0.500001 + Math.abs(value) * 1e-15,
          );
        }
        if (settings.checksum !== 'none') {
          expect(codec.decode(codec.spoilChecksum(line))).toMatchObject({ code: 'checksum-wrong' });
        } else {
          expect(codec.spoilChecksum(line)).toBe(line);
        }
      }),
    );
  });
});

describe('photometer settings', () => {
  it.each([
    [{ line: 'conc {unit}', checksum: 'none' }, 'line'],
    [{ line: 'conc {value} {colour}', checksum: 'none' }, 'line'],
    [{ line: '{value}{unit}', checksum: 'none' }, 'line'],
    [{ line: 'conc {value}' }, 'checksum'],
    [{ checksum: 'none' }, 'checksum'],
    // Whether the letters in front count, nobody could tell: every line might be lost to a wrong guess.
    [{ line: '{value};cs={checksum}' }, 'checksumMark'],
    [{ line: '{value},mg/m3;{checksum}' }, 'checksumMark'],
    [{ checksumMark: '#' }, 'checksumMark'],
    [{ checksumMark: ' *' }, 'checksumMark'],
    [{ goodStatus: [] }, 'goodStatus'],
    [{ unit: 'parsec' }, 'unit'],
    [{ silenceLimitSeconds: 0.05 }, 'silenceLimitSeconds'],
    [{ plausibleLow: 2, plausibleHigh: 1 }, 'plausibleLow'],
    [{ poll: { command: 'a\nb', intervalSeconds: 1 } }, 'poll'],
    [{ terminator: ';' }, 'terminator'],
  ])('refuses %j at %s', (settings, field) => {
    const parsed = photometerSettingsSchema.safeParse(settings);
    expect(parsed.success).toBe(false);
    expect(parsed.error?.issues.map((issue) => issue.path[0])).toContain(field);
  });
});

function openWith(settings: Record<string, unknown>) {
  const clock = createManualClock();
  const cable = createTestCable();
  const sink = createRecordingSink();
  const session = openPhotometer({
    instrument: 'photometer',
    settings: settingsOf(settings),
    transport: cable,
    timers: clock,
    lines: createLineFramer,
    sink,
  });
  return { clock, cable, sink, session };
}

describe('photometer driver', () => {
  it('keeps a reading outside the plausible limits and reports it without counting its bytes twice', () => {
    const { cable, sink, session } = openWith({ ...plain, plausibleLow: -1, plausibleHigh: 100 });
    cable.arrive(latin1('conc 100 mg/m3 ok\nconc 100.1 mg/m3 ok\nconc -1.5 mg/m3 ok\n'), 4);
    expect(sink.readings.map((reading) => reading.value)).toEqual([100, 100.1, -1.5]);
    expect(sink.codes()).toEqual(['reading-out-of-range', 'reading-out-of-range']);
    expect(sink.problemBytes).toBe(0);
    session.end();
  });

  it('counts bad readings as silence, and bytes without an opening time as a beginning', () => {
    const { clock, cable, sink, session } = openWith(plain);
    clock.advance(60e6);
    expect(clock.timerCount).toBe(0);
    for (let count = 0; count < 50; count += 1) {
      cable.arrive(latin1('conc 1 mg/m3 fault\n'), clock.now());
      clock.advance(100_000);
    }
    expect(sink.readings).toEqual([]);
    expect(sink.problems.filter((problem) => problem.code === 'silence')).toEqual([
      expect.objectContaining({ at: 62e6 }),
    ]);
    expect(sink.codes().filter((code) => code === 'status-bad')).toHaveLength(50);
    session.end();
    expect(clock.timerCount).toBe(0);
  });

  const polled = {
    ...plain,
    poll: { command: 'read?', intervalSeconds: 0.5, timeoutSeconds: 1 },
    expectedIntervalSeconds: 0.5,
  };

  it('asks at its interval, one question on the wire at a time', async () => {
    const { clock, cable, sink, session } = openWith(polled);
    cable.onWrite(() => {
      cable.arrive(latin1('conc 2 mg/m3 ok\n'), clock.now());
    });
    clock.advance(2.1e6);
    await settlePromises();
    expect(cable.written).toBe('read?\n'.repeat(4));
    expect(sink.readings.map((reading) => reading.at)).toEqual([0.5e6, 1e6, 1.5e6, 2e6]);
    session.end();
    expect(clock.timerCount).toBe(0);
  });

  it('does not take an unasked line for a reading, nor pile up questions that nobody answers', async () => {
    const { clock, cable, sink, session } = openWith(polled);
    clock.advance(3.4e6);
    await settlePromises();
    // Asked at 0.5 s, given up at 1.5 s, and so on: never two at a time.
    expect(cable.written).toBe('read?\n'.repeat(3));
    cable.onWrite(() => {
      cable.arrive(latin1('conc 3 mg/m3 ok\n'), clock.now());
    });
    clock.advance(0.6e6);
    await settlePromises();
    // No backlog: the questions of 3.5 s and 4 s, and no more.
    expect(sink.readings.map((reading) => reading.at)).toEqual([3.5e6, 4e6]);
    expect(cable.written).toBe('read?\n'.repeat(5));
    const unasked = 'conc 2 mg/m3 ok\n';
    const { clock: otherClock, cable: other, sink: otherSink, session: otherSession } = openWith(polled);
    other.arrive(latin1(unasked), 5);
    expect(otherSink.readings).toEqual([]);
    expect(otherSink.problems).toEqual([
      expect.objectContaining({ code: 'answer-unexpected', byteCount: unasked.length }),
    ]);
    otherSession.end();
    session.end();
    expect(clock.timerCount + otherClock.timerCount).toBe(0);
  });
});

describe('photometer simulator', () => {
  it('answers only its command when it is polled', () => {
    const clock = createManualClock();
    let sent = '';
    const simulator = createPhotometerSimulator(
      settingsOf({ ...plain, poll: { command: 'read?', intervalSeconds: 1 }, resolution: 0.01 }),
      { timers: clock, random: createRandom(1), send: (bytes) => (sent += Buffer.from(bytes).toString('latin1')) },
      { readConcentration: () => -0.126, intervalMicroseconds: 1 },
    );
    simulator.receive(latin1('read?\n'));
    simulator.start();
    clock.advance(10e6);
    simulator.receive(latin1('re'));
    simulator.receive(latin1('ad?\nwrite?\n\u00ff\u0000\n'));
    expect(sent).toBe('conc -0.13 mg/m3 ok\n');
    simulator.stop();
    expect(clock.timerCount).toBe(0);
  });

  it('samples at the moment of each line, on a grid that a late call does not shift', () => {
    const clock = createManualClock();
    const sampledAt: number[] = [];
    const simulator = createPhotometerSimulator(
      settingsOf(plain),
      { timers: clock, random: createRandom(1), send: () => undefined },
      {
        readConcentration: () => {
          sampledAt.push(clock.now());
          return 1;
        },
        intervalMicroseconds: 50_000,
      },
    );
    simulator.start();
    simulator.start();
    clock.advance(250_000);
    simulator.stop();
    clock.advance(250_000);
    expect(sampledAt).toEqual([50_000, 100_000, 150_000, 200_000, 250_000]);
  });
});
