import { certificateDoubtInWords, certificateStanding, inputSource } from '../../leakage/certificate-words.ts';
import { digitsOf, toFigures } from '../../leakage/explain-digits.ts';
import type { ExplanationDigits } from '../../leakage/explain-digits.ts';
import { middleOfMean } from '../../leakage/explanation.ts';
import type { ExplainedAnchor, ExplainedPart, ExplainedWindow, Explanation } from '../../leakage/explanation.ts';
import { stretchInWords, takenInWords } from '../../leakage/left-out-words.ts';
import { certificateName } from '../../model/certificate.ts';
import { toSeconds } from '../../model/time.ts';
import { units } from '../../model/unit.ts';
import { backgroundBreathText, breathRow } from './explain-breath.ts';
import { budgetText } from './explain-budget.ts';
import { rows } from './explain-steps.ts';
import type { Row } from './explain-steps.ts';
import { formatTable } from './table.ts';

/** How numbers of one explanation are written. */
interface Form extends ExplanationDigits {
  readonly unit: string;
  reading(value: number): string;
  percent(value: number): string;
}

const secondsDecimals = 6;

/**
 * An explanation as text: the steps of the calculation, one below the other, with every number that they need.
 * @param withReadings also the readings of every window, with how often each counts.
 */
export function formatExplanation(explanation: Explanation, withReadings: boolean): string {
  const digits = digitsOf(explanation);
  const form: Form = {
    ...digits,
    unit: units[explanation.readingUnit].symbol,
    reading: (value) => value.toFixed(digits.readingDecimals),
    percent: (value) => value.toFixed(digits.percentDecimals),
  };
  const { windowPercent, detectionLimitPercent, method, parts, rig } = explanation;
  const several = parts.length > 1;
  return [
    `${explanation.exerciseName} (${explanation.exercise}), ${explanation.probeLabel} (${explanation.probe}), ` +
      `attempt ${explanation.attempt}`,
    `trial ${explanation.trial}, method ${method.name} version ${method.version}, ` +
      `rig ${rig.name} version ${rig.version}; readings in ${form.unit}`,
    '',
    ...rows([
      ['Inward leakage', windowPercent === null ? 'none' : form.percent(windowPercent), '%'],
      ['Detection limit', detectionLimitPercent === null ? 'none' : toFigures(detectionLimitPercent, 4), '%'],
    ]),
    ...(explanation.belowDetectionLimit ? ['  Below its detection limit; the signed number is kept.'] : []),
    ...leftOutText(explanation),
    ...parts.flatMap((part) => partText(explanation, part, form, several)),
    ...(several ? combinedText(explanation, form) : []),
    ...limitText(explanation, form),
    ...budgetText(explanation),
    ...certificatesText(explanation),
    ...flagText(explanation, form),
    ...windowsText(explanation, form, withReadings),
  ].join('\n');
}

/** What a reviewer left out of the trial, as far as the assessment knows it. */
function leftOutText({ leftOut }: Explanation): string[] {
  if (leftOut === undefined) return [];
  return [
    '',
    'Left out of the trial by a reviewer',
    ...leftOut.map((one) => `  ${stretchInWords(one)} (${takenInWords(one)}): ${one.reason}`),
  ];
}

/** Every certificate that the trial rests on, whether this cell computes with it or not. */
function certificatesText({ certificates }: Explanation): string[] {
  if (certificates === undefined) return [];
  return [
    '',
    'Certificates of the instruments, as they stood when the trial was prepared',
    ...rows(
      certificates.map((one): Row => {
        const { certificate, input } = one;
        if (certificate === null) return [certificateName(one), '', '', certificateStanding(one)];
        const file = certificate.file === undefined ? 'no file' : `file SHA-256 ${certificate.file.digest}`;
        const use = input === null ? 'no value is computed with it' : `gives ${input}`;
        const notes = [certificateStanding(one), certificateDoubtInWords(certificate), use, file];
        return [certificateName(one), String(certificate.value), certificate.unit, notes.join('; ')];
      }),
    ),
  ];
}

function partText(explanation: Explanation, part: ExplainedPart, form: Form, several: boolean): string[] {
  const window = windowOf(explanation, part.dwell);
  const head = several ? `Dwell ${part.dwell}` : 'Steps';
  if (window === undefined) {
    return ['', `${head}: dwell ${part.dwell} has no usable window; the flags below say why.`];
  }
  return [
    '',
    ...(several ? [`${head}, ${toFigures(100 * part.weight, 10)} % of the value`] : []),
    `1 Reading of the window: dwell ${window.dwell}, port ${window.port}, ${window.label}`,
    ...rows([...cutRows(window), ...meanRows(window, explanation, form, 'R')]),
    ...anchorText('2 Zero at the middle of the window', part.zero, form, 'Z'),
    ...anchorText('3 Chamber reference at the middle of the window', part.span, form, 'S'),
    ...(part.challenge === null ? [] : rows(challengeRows(part.challenge, form))),
    ...backgroundText(explanation, part, form),
    ...insideText(explanation, part, window.port, form),
  ];
}

/** From when to when readings were taken, and what lies behind these times. */
function cutRows(window: ExplainedWindow): Row[] {
  const arrived = (which: string, at: number): Row => {
    const left = seconds(at - window.probeDelaySeconds * 1e6);
    return [`${which} reading arrived`, seconds(at), 's', `left the probe ${left} s`];
  };
  return [
    ['valve confirmed the port', seconds(window.acknowledgedAtMicroseconds), 's'],
    ['+ way from valve to reading', window.delaySeconds.toFixed(secondsDecimals), 's'],
    ['+ settling', window.settlingSeconds.toFixed(secondsDecimals), 's'],
    ['= window from', seconds(window.fromMicroseconds), 's', 'time of arrival'],
    ['valve asked to leave the port', seconds(window.releasedAtMicroseconds), 's'],
    ['+ way from valve to reading', window.commonDelaySeconds.toFixed(secondsDecimals), 's'],
    ['− guard', window.guardSeconds.toFixed(secondsDecimals), 's'],
    [
      '= window to',
      seconds(window.toMicroseconds),
      's',
      window.cutByLoss ? 'cut: the last reading before a break in time' : 'time of arrival',
    ],
    ['middle of the mean', seconds(middleOfMean(window)), 's', 'time of arrival'],
    ['way from probe to reading', window.probeDelaySeconds.toFixed(secondsDecimals), 's'],
    arrived('first', window.firstAtMicroseconds),
    arrived('last', window.lastAtMicroseconds),
    ...pieceRows(window),
  ];
}

/** What a reviewer left out of a window, and the pieces that are left of it, which count by their lengths. */
function pieceRows({ leftOut }: ExplainedWindow): Row[] {
  if (leftOut === undefined) return [];
  return [
    ['left out of it', String(leftOut.readings), 'readings'],
    ...leftOut.pieces.map(
      ({ fromMicroseconds, readings, toMicroseconds, weightSeconds }, index): Row => [
        `piece ${index + 1}, counts by its length`,
        toFigures(weightSeconds, 10),
        's',
        `${readings} readings, their mean is for ${seconds(fromMicroseconds)} to ${seconds(toMicroseconds)} s`,
      ],
    ),
  ];
}

/** The mean of a window, corrected for the lag of the photometer. */
function meanRows(window: ExplainedWindow, { rig }: Explanation, form: Form, symbol: string): Row[] {
  const { endReadings, readings, startMean, endMean, lagSeconds } = window;
  if (startMean === null || endMean === null || lagSeconds === null) {
    return [[`${symbol} = mean of ${readings} readings`, form.reading(window.correctedReading), form.unit]];
  }
  const fading = endReadings > 1 ? `the ${endReadings} at either end count less, see --readings` : '';
  const pieces = window.leftOut?.pieces.length ?? 1;
  const each = pieces === 1 ? '' : ` of each of ${pieces} pieces`;
  return [
    [`mean of ${readings} readings`, form.reading(window.meanReading), form.unit, fading],
    [`mean of the last ${endReadings}${each}`, form.reading(endMean), form.unit],
    [`− mean of the first ${endReadings}${each}`, form.reading(startMean), form.unit],
    ['× time constant', String(rig.timeConstantSeconds.value), 's'],
    ['÷ distance of these two', toFigures(lagSeconds, 10), 's'],
    ['= correction for lag', form.reading(window.lagTerm), form.unit],
    [`${symbol} = mean + correction`, form.reading(window.correctedReading), form.unit],
  ];
}

function anchorText(title: string, anchor: ExplainedAnchor | null, form: Form, symbol: string): string[] {
  if (anchor === null) return [`${title}: none`];
  const axis = anchor.axis === 'arrival' ? 'time of arrival' : 'when the air left the chamber';
  const side = (name: string, of: ExplainedAnchor['before']): Row[] =>
    of === null
      ? [[`dwell ${name}`, 'none', '', 'the other one is held']]
      : [[`dwell ${of.dwell}, ${name}`, form.reading(of.reading), form.unit, `at ${seconds(of.atMicroseconds)} s`]];
  return [
    `${title}: at ${seconds(anchor.atMicroseconds)} s, ${axis}`,
    ...rows([
      ...side('before', anchor.before),
      ...side('after', anchor.after),
      ['share of the one after', anchor.weightAfter.toFixed(10), '', 'the one before has the rest'],
      [`${symbol} = both by their shares`, form.reading(anchor.reading), form.unit],
    ]),
  ];
}

function challengeRows(challenge: NonNullable<ExplainedPart['challenge']>, form: Form): Row[] {
  const { beforeDwell, afterDwell, beforeNet, afterNet, changePercent, limitPercent } = challenge;
  const note = 'each minus the zero at its own middle';
  return [
    [`reference minus zero, dwell ${beforeDwell}`, form.reading(beforeNet), form.unit, note],
    [`reference minus zero, dwell ${afterDwell}`, form.reading(afterNet), form.unit, note],
    ['they differ by, of their mean', toFigures(changePercent, 3), '%', `allowed ${limitPercent} %`],
  ];
}

function backgroundText(explanation: Explanation, part: ExplainedPart, form: Form): string[] {
  const { background } = part;
  if (background === null) {
    return [`4 Background: ${explanation.method.subtractBackground ? 'none' : 'not subtracted by this method'}`];
  }
  const window = windowOf(explanation, background.dwell);
  return [
    `4 Background of the probe, before the challenge: dwell ${background.dwell}`,
    ...rows([['its reading', form.reading(window?.correctedReading ?? 0), form.unit, 'steps below']]),
    ...anchorText('  zero at its middle', background.zero, form, 'its zero'),
    ...rows([['B = its reading − its zero', form.reading(background.netReading), form.unit]]),
    ...backgroundBreathText(part, form.reading, form.unit),
  ];
}

function insideText(explanation: Explanation, part: ExplainedPart, port: number, form: Form): string[] {
  const number = (value: number | null): string => (value === null ? 'none' : form.reading(value));
  const from = (input: string): string => inputSource(explanation, input) ?? '';
  const reference = explanation.windows.find(({ purpose }) => purpose === 'reference')?.port ?? 0;
  return [
    '5 Inside',
    ...rows([['R − Z − B', number(part.netReading), form.unit]]),
    '6 Percent of the challenge for one unit of reading',
    ...rows([
      ['D, dilution of the line', String(part.dilution), '', from(`dilution ${port}`)],
      ['P, share that passes the line', String(part.penetration), '', from(`penetration ${port}`)],
      ['F, subject against reference point', String(part.spatialFactor), '', from('spatial-factor')],
      ['S − Z', number(part.spanNet), form.unit],
      ['D_ref, of the reference line', String(part.referenceDilution), '', from(`dilution ${reference}`)],
      ['P_ref, of the reference line', String(part.referencePenetration), '', from(`penetration ${reference}`)],
      ...(part.linearity === undefined
        ? []
        : [['L, linearity of the photometer', String(part.linearity), '', from('linearity')] as const]),
      ...(part.breathing === undefined ? [] : [breathRow('b, (breath in + out) ÷ in', part.breathing)]),
      [
        `100 × D ÷ P ÷ (F × (S − Z) × D_ref ÷ P_ref)${part.linearity === undefined ? '' : ' ÷ L'}` +
          (part.breathing === undefined ? '' : ' × b'),
        part.percentPerReading === null ? 'none' : toFigures(part.percentPerReading, 10),
        `% for 1 ${form.unit}`,
      ],
    ]),
    '7 Inward leakage: (R − Z − B) × that',
    ...rows([['leakage of this dwell', part.windowPercent === null ? 'none' : form.percent(part.windowPercent), '%']]),
  ];
}

function combinedText({ parts, windowPercent }: Explanation, form: Form): string[] {
  const used = parts.filter((part) => part.windowPercent !== null);
  return [
    '',
    'All dwells of the cell, each by the length of its window',
    ...rows([
      ...used.map((part): Row => {
        const share = `share ${part.weight.toFixed(10)}`;
        return [`dwell ${part.dwell}`, form.percent(part.windowPercent ?? 0), '%', share];
      }),
      ['inward leakage', windowPercent === null ? 'none' : form.percent(windowPercent), '%'],
    ]),
  ];
}

function limitText(explanation: Explanation, form: Form): string[] {
  const { detectionLimitPercent, limitFactor, parts, scatter } = explanation;
  if (scatter === null) return ['', 'Detection limit: none, because no zero is long enough to show scatter.'];
  const noise = (value: number): string => toFigures(value, 6);
  return [
    '',
    '8 Detection limit: what a cell without leakage could show by noise alone',
    ...rows([
      [
        's, scatter of one reading of filtered air',
        noise(scatter.singleReading),
        form.unit,
        `${scatter.readings} readings in zeros ${scatter.zeros.join(', ')}; never below resolution ÷ √12`,
      ],
      ['g, how much readings repeat each other', noise(scatter.autocorrelationSum), '', '1 + 2 × sum of correlations'],
      ...parts.flatMap((part): Row[] => {
        if (part.noise === null) return [];
        const { background, backgroundZeros, zeros, window } = part.noise;
        const weights = windowOf(explanation, part.dwell)?.squaredWeights ?? 0;
        return [
          [`dwell ${part.dwell}: sum of squared weights`, toFigures(weights, 8)],
          ['u of the window, s × √(g × that)', noise(window), form.unit],
          ['u of the zeros', noise(zeros), form.unit, 'their u below, each times its share, squared and added'],
          ['u of the background', noise(background), form.unit],
          ["u of the background's zeros", noise(backgroundZeros), form.unit],
        ];
      }),
      [
        `${Number(limitFactor.toPrecision(4))} × √(sum of u²) × percent for one unit`,
        detectionLimitPercent === null ? 'none' : toFigures(detectionLimitPercent, 4),
        '%',
        parts.length > 1 ? 'u of windows by share, squared and added; the other u by share and added' : '',
      ],
    ]),
  ];
}

function flagText({ doubts, flags }: Explanation, form: Form): string[] {
  if (flags.length === 0) return ['', 'Flags: none'];
  const causes = (flag: string): string[] =>
    doubts
      .filter((doubt) => doubt.flag === flag)
      .map(({ dwell, figure, found }) => {
        const where = dwell === null ? '' : `dwell ${dwell}: `;
        if (figure === null) return `    ${where}${found}`;
        const unit = figure.unit === 'reading' ? form.unit : figure.unit === 'percent' ? '%' : figure.unit;
        const counted = figure.unit === 'dwells' || figure.unit === 'readings';
        const shown = (value: number): string => (counted ? String(value) : toFigures(value, 5));
        if (figure.unit === 'dwells' && figure.limit !== null) {
          return `    ${where}${found}: ${figure.value} of ${figure.limit}`;
        }
        const limit = figure.limit === null ? '' : `, against ${shown(figure.limit)} ${unit}`;
        return `    ${where}${found}: ${shown(figure.value)} ${unit}${limit}`;
      });
  return [
    '',
    'Flags',
    ...flags.flatMap(({ flag, meaning, doubtful }) => [
      `  ${flag}${doubtful ? '' : ' (informs, casts no doubt)'}: ${meaning}`,
      ...causes(flag),
    ]),
  ];
}

/** The windows behind zero, reference and background, by the same steps. */
function windowsText(explanation: Explanation, form: Form, withReadings: boolean): string[] {
  const own = new Set(explanation.parts.map(({ dwell }) => dwell));
  return explanation.windows.flatMap((window) => {
    const steps = own.has(window.dwell)
      ? []
      : [
          '',
          `Dwell ${window.dwell}, ${window.purpose}, port ${window.port}, ${window.label}`,
          ...rows([
            ...cutRows(window),
            ...meanRows(window, explanation, form, 'reading'),
            ['sum of squared weights', toFigures(window.squaredWeights, 8)],
            ['u, s × √(g × that)', figures(window.noiseReading, 6), form.unit],
          ]),
        ];
    const carried: Row[] = [
      ['reading before, minus this', figures(window.stepReading, 6), form.unit],
      ['settled for', window.settledSeconds.toFixed(secondsDecimals), 's'],
      ['carried over, at most', figures(window.carryOverReading, 3), form.unit, 'held against its limit only'],
    ];
    const title = own.has(window.dwell) ? ['', `Dwell ${window.dwell}, what the port before may have left`] : [];
    return [...steps, ...title, ...rows(carried), ...(withReadings ? readingsText(window, form) : [])];
  });
}

function readingsText(window: ExplainedWindow, form: Form): string[] {
  const total = window.values.reduce((sum, { share }) => sum + share, 0);
  return [
    '',
    `Readings of dwell ${window.dwell}: mean = sum of (share × reading) ÷ ${total}`,
    formatTable(
      [
        { heading: 'arrived, s', align: 'right' },
        { heading: 'left the probe, s', align: 'right' },
        { heading: `reading, ${form.unit}`, align: 'right' },
        { heading: 'share', align: 'right' },
      ],
      window.values.map(({ atMicroseconds, share, value }) => [
        seconds(atMicroseconds),
        seconds(atMicroseconds - window.probeDelaySeconds * 1e6),
        String(value),
        String(share),
      ]),
    ),
  ];
}

function figures(value: number | null, count: number): string {
  return value === null ? 'none' : toFigures(value, count);
}


function windowOf({ windows }: Explanation, dwell: number): ExplainedWindow | undefined {
  return windows.find((window) => window.dwell === dwell);
}

function seconds(microseconds: number): string {
  return toSeconds(microseconds).toFixed(secondsDecimals);
}
