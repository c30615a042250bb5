import { inputSource } from '../../src/leakage/certificate-words.ts';
import { digitsOf, toFigures } from '../../src/leakage/explain-digits.ts';
import { middleOfMean } from '../../src/leakage/explanation.ts';
import type {
  ExplainedAnchor,
  ExplainedBreathing,
  ExplainedPart,
  ExplainedWindow,
  Explanation,
} from '../../src/leakage/explanation.ts';
import { units } from '../../src/model/unit.ts';
import { explainWords as words } from '../words/explain.ts';

/** One line of a calculation: what, how it enters, the number, its unit, and where it comes from. */
export interface StepRow {
  readonly what: string;
  readonly operator?: '+' | '−' | '×' | '÷' | '=';
  readonly number: string;
  readonly unit?: string;
  readonly note?: string;
}

/** Lines under one heading. */
export interface StepBlock {
  readonly title: string;
  readonly rows: readonly StepRow[];
}

/** One dwell of a cell: the calculation in short, and each of its steps in full. */
export interface PartSteps {
  readonly dwell: number;
  /** Share in the value of the cell, percent. */
  readonly share: string;
  /** The same for a heading. */
  readonly roundShare: string;
  readonly short: readonly StepRow[];
  readonly blocks: readonly StepBlock[];
  readonly window: ExplainedWindow | null;
}

/** How the numbers of an explanation are written: enough figures for a pocket calculator. */
export interface StepForm {
  readonly unit: string;
  readonly reading: (value: number | null) => string;
  readonly percent: (value: number | null) => string;
}

export function stepForm(explanation: Explanation): StepForm {
  const { percentDecimals, readingDecimals } = digitsOf(explanation);
  const written = (decimals: number) => (value: number | null) =>
    value === null ? words.none : proper(value.toFixed(decimals));
  return {
    unit: units[explanation.readingUnit].symbol,
    reading: written(readingDecimals),
    percent: written(percentDecimals),
  };
}

/** The steps of a cell, one entry for each of its dwells. */
export function partSteps(explanation: Explanation): PartSteps[] {
  const form = stepForm(explanation);
  return explanation.parts.map((part) => {
    const window = explanation.windows.find(({ dwell }) => dwell === part.dwell) ?? null;
    const of = {
      dwell: part.dwell,
      share: toFigures(100 * part.weight, 10),
      roundShare: toFigures(100 * part.weight, 3),
    };
    if (window === null) return { ...of, short: [], blocks: [], window };
    return {
      ...of,
      short: shortRows(explanation, part, window, form),
      blocks: [
        { title: words.window, rows: windowRows(window) },
        { title: words.mean, rows: meanRows(explanation, window, form) },
        { title: words.zeroTitle, rows: anchorRows(part.zero, form) },
        { title: words.referenceTitle, rows: [...anchorRows(part.span, form), ...challengeRows(part, form)] },
        { title: words.backgroundTitle, rows: backgroundRows(explanation, part, form) },
        { title: words.factors, rows: factorRows(explanation, part, form) },
        { title: words.limitTitle, rows: limitRows(explanation, part, window, form) },
        { title: words.carryTitle, rows: carryRows(window, form) },
      ],
      window,
    };
  });
}

/** The windows behind zero, reference and background, each by its own steps. */
export function otherWindows(explanation: Explanation): StepBlock[] {
  const form = stepForm(explanation);
  const own = new Set(explanation.parts.map(({ dwell }) => dwell));
  return explanation.windows
    .filter(({ dwell }) => !own.has(dwell))
    .map((window) => ({
      title: words.otherWindow(window.purpose, window.dwell),
      rows: [
        ...windowRows(window),
        ...meanRows(explanation, window, form),
        { what: words.squaredWeights, number: toFigures(window.squaredWeights, 8) },
        {
          what: words.noiseOfWindow,
          number: window.noiseReading === null ? words.none : toFigures(window.noiseReading, 6),
          unit: form.unit,
          note: words.noiseRule,
        },
        ...carryRows(window, form),
      ],
    }));
}

function shortRows(explanation: Explanation, part: ExplainedPart, window: ExplainedWindow, form: StepForm): StepRow[] {
  const { background, span, zero } = part;
  const { unit } = form;
  const reading = { number: form.reading(window.meanReading), unit, note: words.meanOf(window.readings) };
  const subtracted = explanation.method.subtractBackground ? words.missing : words.notSubtracted;
  return [
    { what: words.meanOfWindow, ...reading },
    { what: words.lag, operator: '+', number: form.reading(window.lagTerm), unit },
    { what: words.zero, operator: '−', number: form.reading(zero?.reading ?? null), unit, note: dwellsOf(zero) },
    background === null
      ? { what: words.background, operator: '−', number: words.none, note: subtracted }
      : {
          what: words.background,
          operator: '−',
          number: form.reading(takenBackground(part)),
          unit,
          note: words.beforeChallenge(background.dwell),
        },
    { what: words.inside, operator: '=', number: form.reading(part.netReading), unit },
    { what: words.line, operator: '×', number: toFigures(part.dilution / part.penetration, 8) },
    { what: words.reference, operator: '÷', number: form.reading(part.spanNet), unit, note: dwellsOf(span) },
    {
      what: words.referenceLine,
      operator: '÷',
      number: toFigures(part.referenceDilution / part.referencePenetration, 8),
    },
    {
      what: words.place,
      operator: '÷',
      number: String(part.spatialFactor),
      note: inputSource(explanation, 'spatial-factor') ?? words.ofRig(explanation.rig),
    },
    ...linearityRows(explanation, part),
    ...breathingRows(part),
    { what: words.leakage, operator: '=', number: form.percent(part.windowPercent), unit: '%' },
  ];
}

function dwellsOf(anchor: ExplainedAnchor | null): string {
  return anchor === null ? words.missing : words.dwells(anchor.before?.dwell ?? null, anchor.after?.dwell ?? null);
}

function windowRows(window: ExplainedWindow): StepRow[] {
  const left = (at: number): string => words.leftProbe(seconds(at - window.probeDelaySeconds * 1e6));
  const to = seconds(window.toMicroseconds);
  return [
    { what: words.confirmed, number: seconds(window.acknowledgedAtMicroseconds), unit: 's' },
    { what: words.way, operator: '+', number: window.delaySeconds.toFixed(6), unit: 's' },
    { what: words.settling, operator: '+', number: window.settlingSeconds.toFixed(6), unit: 's' },
    { what: words.from, operator: '=', number: seconds(window.fromMicroseconds), unit: 's' },
    { what: words.released, number: seconds(window.releasedAtMicroseconds), unit: 's' },
    { what: words.way, operator: '+', number: window.commonDelaySeconds.toFixed(6), unit: 's' },
    { what: words.guard, operator: '−', number: window.guardSeconds.toFixed(6), unit: 's' },
    { what: words.to, operator: '=', number: to, unit: 's', ...(window.cutByLoss ? { note: words.cutByLoss } : {}) },
    { what: words.wayFromProbe, number: window.probeDelaySeconds.toFixed(6), unit: 's' },
    {
      what: words.first,
      number: seconds(window.firstAtMicroseconds),
      unit: 's',
      note: left(window.firstAtMicroseconds),
    },
    { what: words.last, number: seconds(window.lastAtMicroseconds), unit: 's', note: left(window.lastAtMicroseconds) },
    {
      what: words.middle,
      number: seconds(middleOfMean(window)),
      unit: 's',
    },
    ...pieceRows(window),
  ];
}

/** What a reviewer left out of a window, and the pieces that are left of it. */
function pieceRows({ leftOut }: ExplainedWindow): StepRow[] {
  if (leftOut === undefined) return [];
  return [
    { what: words.leftOutOfWindow, number: String(leftOut.readings), unit: words.readingsUnit },
    ...leftOut.pieces.map(
      ({ fromMicroseconds, readings, toMicroseconds, weightSeconds }, index): StepRow => ({
        what: words.piece(index + 1),
        number: toFigures(weightSeconds, 10),
        unit: 's',
        note: words.pieceNote(readings, seconds(fromMicroseconds), seconds(toMicroseconds)),
      }),
    ),
  ];
}

function meanRows({ rig }: Explanation, window: ExplainedWindow, form: StepForm): StepRow[] {
  const { endMean, endReadings, lagSeconds, leftOut, startMean } = window;
  const { unit } = form;
  const pieces = leftOut?.pieces.length ?? 1;
  const corrected: StepRow = {
    what: words.corrected,
    operator: '=',
    number: form.reading(window.correctedReading),
    unit,
  };
  const mean: StepRow = { what: words.meanPlain(window.readings), number: form.reading(window.meanReading), unit };
  if (startMean === null || endMean === null || lagSeconds === null) return [mean, corrected];
  return [
    { what: words.lastMean(endReadings, pieces), number: form.reading(endMean), unit },
    { what: words.firstMean(endReadings, pieces), operator: '−', number: form.reading(startMean), unit },
    { what: words.timeConstant, operator: '×', number: String(rig.timeConstantSeconds.value), unit: 's' },
    { what: words.distance, operator: '÷', number: toFigures(lagSeconds, 10), unit: 's' },
    { what: words.correction, operator: '=', number: form.reading(window.lagTerm), unit },
    { ...mean, operator: '+', ...(endReadings > 1 ? { note: words.fading(endReadings) } : {}) },
    corrected,
  ];
}

function anchorRows(anchor: ExplainedAnchor | null, form: StepForm): StepRow[] {
  if (anchor === null) return [{ what: words.between, number: words.none }];
  const { after, atMicroseconds, before, reading, weightAfter } = anchor;
  const { unit } = form;
  const side = (of: ExplainedAnchor['before'], what: (dwell: number) => string, missing: string): StepRow =>
    of === null
      ? { what: missing, number: words.none, note: words.held }
      : { what: what(of.dwell), number: form.reading(of.reading), unit, note: `${seconds(of.atMicroseconds)} s` };
  return [
    { what: words.at, number: seconds(atMicroseconds), unit: 's' },
    side(before, words.before, words.noneBefore),
    side(after, words.after, words.noneAfter),
    { what: words.shareAfter, number: weightAfter.toFixed(10) },
    { what: words.between, operator: '=', number: form.reading(reading), unit },
  ];
}

function challengeRows({ challenge }: ExplainedPart, form: StepForm): StepRow[] {
  if (challenge === null) return [];
  const { afterDwell, afterNet, beforeDwell, beforeNet, changePercent, limitPercent } = challenge;
  const { unit } = form;
  const note = words.ownMiddle;
  return [
    { what: words.referenceNet(beforeDwell), number: form.reading(beforeNet), unit, note },
    { what: words.referenceNet(afterDwell), number: form.reading(afterNet), unit, note },
    {
      what: words.theyDiffer,
      number: toFigures(changePercent, 3),
      unit: '%',
      note: words.allowed(`${limitPercent} %`),
    },
  ];
}

function backgroundRows(explanation: Explanation, part: ExplainedPart, form: StepForm): StepRow[] {
  const { background } = part;
  if (background === null) {
    const why = explanation.method.subtractBackground ? words.missing : words.notSubtracted;
    return [{ what: words.background, number: words.none, note: why }];
  }
  const own = explanation.windows.find(({ dwell }) => dwell === background.dwell);
  const { unit } = form;
  return [
    { what: words.itsReading, number: form.reading(own?.correctedReading ?? null), unit },
    ...anchorRows(background.zero, form).map((row) =>
      row.what === words.between ? { ...row, what: words.itsZero } : row,
    ),
    { what: words.background, operator: '=', number: form.reading(background.netReading), unit },
    ...backgroundBreathRows(part, form),
  ];
}

/** What of a background is subtracted: in the breathing zone by the breath of either window. */
function takenBackground({ background, breathing }: ExplainedPart): number | null {
  if (background === null) return null;
  if (breathing === undefined || background.breathing === undefined) return background.netReading;
  return (background.netReading * background.breathing.factor) / breathing.factor;
}

function backgroundBreathRows(part: ExplainedPart, form: StepForm): StepRow[] {
  const own = part.background?.breathing;
  if (own === undefined) return [];
  return [
    { ...breathRow(own), what: words.backgroundBreath },
    ...breathingRows(part).map((row): StepRow => ({ ...row, operator: '÷' })),
    { what: words.backgroundTaken, operator: '=', number: form.reading(takenBackground(part)), unit: form.unit },
  ];
}

function breathingRows({ breathing }: ExplainedPart): StepRow[] {
  return breathing === undefined ? [] : [breathRow(breathing)];
}

function breathRow({ expiredSeconds, factor, inspiredSeconds }: ExplainedBreathing): StepRow {
  const note = words.breathTimes(toFigures(inspiredSeconds, 8), toFigures(expiredSeconds, 8));
  return { what: words.breathing, operator: '×', number: toFigures(factor, 10), note };
}

function linearityRows(explanation: Explanation, { linearity }: ExplainedPart): StepRow[] {
  if (linearity === undefined) return [];
  const note = inputSource(explanation, 'linearity');
  const row: StepRow = { what: words.linearity, operator: '÷', number: String(linearity) };
  return [note === undefined ? row : { ...row, note }];
}

function factorRows(explanation: Explanation, part: ExplainedPart, form: StepForm): StepRow[] {
  const percent = part.percentPerReading;
  return [
    { what: words.dilution, number: String(part.dilution) },
    { what: words.penetration, operator: '÷', number: String(part.penetration) },
    { what: words.place, operator: '÷', number: String(part.spatialFactor) },
    ...linearityRows(explanation, part),
    ...breathingRows(part),
    { what: words.span, operator: '÷', number: form.reading(part.spanNet), unit: form.unit },
    { what: words.referenceDilution, operator: '÷', number: String(part.referenceDilution) },
    { what: words.referencePenetration, operator: '×', number: String(part.referencePenetration) },
    { what: '100', operator: '×', number: '100', unit: '%' },
    {
      what: words.factors,
      operator: '=',
      number: percent === null ? words.none : toFigures(percent, 10),
      unit: words.percentPerUnit(form.unit),
    },
  ];
}

function limitRows(explanation: Explanation, part: ExplainedPart, window: ExplainedWindow, form: StepForm): StepRow[] {
  const { limitFactor, scatter } = explanation;
  const { noise } = part;
  if (scatter === null || noise === null) {
    return [{ what: words.limitTitle, number: words.none, note: words.noScatter }];
  }
  const { unit } = form;
  const figures = (value: number): string => toFigures(value, 6);
  const limit = part.detectionLimitPercent;
  return [
    {
      what: words.scatter,
      number: figures(scatter.singleReading),
      unit,
      note: words.scatterNote(scatter.readings, scatter.zeros.length),
    },
    { what: words.repeat, number: figures(scatter.autocorrelationSum) },
    { what: words.squaredWeights, number: toFigures(window.squaredWeights, 8) },
    { what: words.noiseOfWindow, operator: '=', number: figures(noise.window), unit, note: words.noiseRule },
    { what: words.noiseOfZeros, number: figures(noise.zeros), unit },
    { what: words.noiseOfBackground, number: figures(noise.background), unit },
    { what: words.noiseOfItsZeros, number: figures(noise.backgroundZeros), unit },
    {
      what: words.limit(Number(limitFactor.toPrecision(4))),
      operator: '=',
      number: limit === null ? words.none : toFigures(limit, 4),
      unit: '%',
      note: words.timesPercent,
    },
  ];
}

function carryRows(window: ExplainedWindow, form: StepForm): StepRow[] {
  const { unit } = form;
  const step = window.stepReading;
  return [
    { what: words.stepBefore, number: step === null ? words.none : proper(toFigures(step, 6)), unit },
    { what: words.settledFor, number: window.settledSeconds.toFixed(6), unit: 's' },
    { what: words.carried, number: proper(toFigures(window.carryOverReading, 3)), unit, note: words.carriedNote },
  ];
}

function seconds(microseconds: number): string {
  return proper((microseconds / 1e6).toFixed(6));
}

/** With a proper minus. */
function proper(number: string): string {
  return number.replace('-', '−');
}
