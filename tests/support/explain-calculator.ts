/**
 * A pocket calculator for explained cells. It knows nothing of the program: one half takes the JSON of an explanation,
 * the other the lines that `explain` prints. Both build the value again from what is written there.
 */

interface Value {
  readonly value: number;
  readonly share: number;
}
interface Breathing {
  readonly inspiredSeconds: number;
  readonly expiredSeconds: number;
  readonly inspirations: readonly { readonly fromMicroseconds: number; readonly toMicroseconds: number }[];
}
interface Anchor {
  readonly before: { readonly dwell: number } | null;
  readonly after: { readonly dwell: number } | null;
  readonly atMicroseconds: number;
  readonly axis: string;
}
/** The parts of the JSON that the calculator uses: readings, times, factors; no mean, no zero, no net value. */
export interface ExplainedJson {
  readonly rig: { readonly timeConstantSeconds: { readonly value: number } };
  readonly method: { readonly interpolation: string };
  readonly limitFactor: number;
  readonly scatter: { readonly singleReading: number; readonly autocorrelationSum: number } | null;
  readonly windows: readonly {
    readonly dwell: number;
    readonly endReadings: number;
    readonly probeDelaySeconds: number;
    readonly values: readonly (Value & { readonly atMicroseconds: number })[];
    /** Readings in each piece, where a stretch of the window is left out. */
    readonly leftOut?: { readonly pieces: readonly { readonly readings: number; readonly endReadings: number }[] };
  }[];
  readonly parts: readonly {
    readonly dwell: number;
    readonly zero: Anchor | null;
    readonly span: Anchor | null;
    readonly background: {
      readonly dwell: number;
      readonly zero: Anchor;
      readonly breathing?: Breathing;
    } | null;
    readonly dilution: number;
    readonly penetration: number;
    readonly referenceDilution: number;
    readonly referencePenetration: number;
    readonly spatialFactor: number;
    readonly linearity?: number;
    readonly breathing?: Breathing;
    readonly windowPercent: number | null;
  }[];
}

interface Mean {
  readonly reading: number;
  readonly middleMicroseconds: number;
  readonly lengthMicroseconds: number;
  /** Σ w². */
  readonly squares: number;
}

const average = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Value and detection limit of a cell from its JSON, with the readings alone to begin with; null without a number. */
export function valueFromJson(explained: ExplainedJson): { percent: number; limit: number } | null {
  const tau = explained.rig.timeConstantSeconds.value;
  const means = new Map<number, Mean & { readonly probeDelay: number }>();
  for (const { dwell, endReadings, leftOut, probeDelaySeconds, values } of explained.windows) {
    const mean = leftOut === undefined ? meanOf(values, endReadings, tau) : meanOfPieces(values, leftOut.pieces, tau);
    means.set(dwell, { ...mean, probeDelay: probeDelaySeconds * 1e6 });
  }
  const meanAt = (dwell: number) => means.get(dwell) as Mean & { readonly probeDelay: number };
  const single = explained.scatter;
  const noise = (dwell: number): number =>
    single === null
      ? Number.NaN
      : single.singleReading * Math.sqrt(single.autocorrelationSum * meanAt(dwell).squares);

  const between = (anchor: Anchor): { value: number; noise: number } => {
    const sides = [anchor.before, anchor.after].filter((side) => side !== null).map(({ dwell }) => dwell);
    const at = (dwell: number): number =>
      meanAt(dwell).middleMicroseconds - (anchor.axis === 'probe' ? meanAt(dwell).probeDelay : 0);
    const [first = 0, second = first] = sides;
    const linear = sides.length < 2 ? 0 : (anchor.atMicroseconds - at(first)) / (at(second) - at(first));
    const later = explained.method.interpolation === 'linear' || sides.length < 2 ? linear : 0.5;
    return {
      value: (1 - later) * meanAt(first).reading + later * meanAt(second).reading,
      noise: Math.hypot((1 - later) * noise(first), later * noise(second)),
    };
  };

  const used = explained.parts.filter((part) => part.windowPercent !== null);
  if (used.length === 0) return null;
  let length = 0;
  let sum = 0;
  let windowVariance = 0;
  let shared = 0;
  for (const part of used) {
    const window = meanAt(part.dwell);
    const zero = between(part.zero as Anchor);
    const span = between(part.span as Anchor);
    const backgroundZero = part.background === null ? { value: 0, noise: 0 } : between(part.background.zero);
    const share = shareOfBreath(part.background?.breathing) / shareOfBreath(part.breathing);
    const background =
      part.background === null ? 0 : (meanAt(part.background.dwell).reading - backgroundZero.value) / share;
    const backgroundNoise = part.background === null ? 0 : noise(part.background.dwell) / share;
    const challenge =
      (part.spatialFactor * (span.value - zero.value) * part.referenceDilution) / part.referencePenetration;
    const breath = 1 / shareOfBreath(part.breathing);
    const scale = (breath * (100 * part.dilution)) / part.penetration / challenge / (part.linearity ?? 1);
    const weight = window.lengthMicroseconds;
    length += weight;
    sum += weight * (window.reading - zero.value - background) * scale;
    windowVariance += (weight * noise(part.dwell) * scale) ** 2;
    shared += weight * Math.hypot(zero.noise, backgroundNoise, backgroundZero.noise / share) * scale;
  }
  const factor = explained.limitFactor;
  return { percent: sum / length, limit: (factor * Math.hypot(Math.sqrt(windowVariance), shared)) / length };
}

/** How much of a window was breathed in, from the stretches that are written there; 1 where there are none. */
function shareOfBreath(breathing: Breathing | undefined): number {
  if (breathing === undefined) return 1;
  const { expiredSeconds, inspirations, inspiredSeconds } = breathing;
  const inspired = inspirations.reduce((sum, { fromMicroseconds, toMicroseconds }) => {
    return sum + (toMicroseconds - fromMicroseconds) / 1e6;
  }, 0);
  return inspired / (inspiredSeconds + expiredSeconds);
}

/** Each piece by itself, then all of them by their lengths; readings with a share of 0 belong to none. */
function meanOfPieces(
  values: readonly (Value & { atMicroseconds: number })[],
  pieces: readonly { readonly readings: number; readonly endReadings: number }[],
  tau: number,
): Mean {
  const used = values.filter(({ share }) => share > 0);
  let next = 0;
  const means = pieces.map(({ endReadings, readings }) => {
    const mean = meanOf(used.slice(next, next + readings), endReadings, tau);
    next += readings;
    return mean;
  });
  const length = means.reduce((sum, mean) => sum + mean.lengthMicroseconds, 0);
  const over = (quantity: (mean: Mean) => number): number =>
    means.reduce((sum, mean) => sum + (mean.lengthMicroseconds / length) * quantity(mean), 0);
  return {
    reading: over(({ reading }) => reading),
    middleMicroseconds: over(({ middleMicroseconds }) => middleMicroseconds),
    lengthMicroseconds: length,
    squares: means.reduce((sum, mean) => sum + (mean.lengthMicroseconds / length) ** 2 * mean.squares, 0),
  };
}

/** Mean of a window by the shares of its readings, plus tau times the slope between its ends. */
function meanOf(values: readonly (Value & { atMicroseconds: number })[], ends: number, tau: number): Mean {
  const total = values.reduce((sum, { share }) => sum + share, 0);
  const mean = values.reduce((sum, { share, value }) => sum + share * value, 0) / total;
  const first = values[0]?.atMicroseconds ?? Number.NaN;
  const last = values.at(-1)?.atMicroseconds ?? Number.NaN;
  const interval = (last - first) / (values.length - 1);
  if (ends === 0) {
    return {
      reading: mean,
      middleMicroseconds: (Math.round(first - interval / 2) + Math.round(last + interval / 2)) / 2,
      lengthMicroseconds: Math.round(last + interval / 2) - Math.round(first - interval / 2),
      squares: 1 / values.length,
    };
  }
  const start = average(values.slice(0, ends).map(({ value }) => value));
  const end = average(values.slice(-ends).map(({ value }) => value));
  const seconds = ((values.length - ends) * interval) / 1e6;
  const slope = tau / seconds;
  const inset = ((ends - 1) / 2) * interval;
  const from = Math.round(first + inset);
  const to = Math.round(last - inset);
  const squares = values.reduce((sum, { share }, index) => {
    const side = index < ends ? -1 : index >= values.length - ends ? 1 : 0;
    return sum + (share / total + (side * slope) / ends) ** 2;
  }, 0);
  return {
    reading: mean + slope * (end - start),
    middleMicroseconds: (from + to) / 2,
    lengthMicroseconds: to - from,
    squares,
  };
}

/** What stands on the printed page: the value as printed, how far its last figure reaches, and what comes out of it. */
export interface PrintedValue {
  readonly printed: number;
  /** One unit of the last figure. */
  readonly lastFigure: number;
  readonly rebuilt: number;
}

/** From the printed lines alone; null where the page gives no value. */
export function valueFromText(text: string): PrintedValue | null {
  const lines = text.split('\n');
  const valueLine = /^ {2}Inward leakage +(-?[0-9.]+) +%/m.exec(text);
  if (valueLine === null) return null;
  const shown = valueLine[1] ?? '';
  const decimals = shown.includes('.') ? shown.length - shown.indexOf('.') - 1 : 0;
  const pages = partsOf(lines);
  let sum = 0;
  for (const page of pages) sum += page.weight * leakageOf(page.lines);
  return { printed: Number(shown), lastFigure: 10 ** -decimals, rebuilt: sum };
}

/** The lines of each dwell of the cell, and its share in the value. */
function partsOf(lines: readonly string[]): { weight: number; lines: string[] }[] {
  const parts: { weight: number; lines: string[] }[] = [];
  let weight = 1;
  let open = false;
  for (const line of lines) {
    const share = /^Dwell \d+, ([0-9.]+) % of the value/.exec(line);
    if (share !== null) weight = Number(share[1]) / 100;
    if (line.startsWith('1 Reading of the window')) {
      parts.push({ weight, lines: [] });
      open = true;
    }
    if (line === '') open = false;
    if (open) parts.at(-1)?.lines.push(line);
  }
  return parts.filter(({ lines: own }) => !own.some((line) => /leakage of this dwell +none/.test(line)));
}

/** Computes every step of one dwell again, from the numbers of the step before. */
function leakageOf(lines: readonly string[]): number {
  const section = (begin: string, end: string): string[] => {
    const from = lines.findIndex((line) => line.startsWith(begin));
    const to = lines.findIndex((line) => line.startsWith(end));
    return lines.slice(from, to);
  };
  const window = section('1 ', '2 ');
  const plain = find(window, /^R = mean of/);
  const reading =
    plain ??
    need(window, /^mean of \d+ readings/) +
      ((need(window, /^mean of the last/) - need(window, /^− mean of the first/)) * need(window, /^× time/)) /
        need(window, /^÷ distance/);
  const zero = anchored(section('2 ', '3 '));
  const span = anchored(section('3 ', '4 '));
  const ground = section('4 ', '5 ');
  const factors = section('6 ', '7 ');
  const breath = find(factors, /^b,/) ?? 1;
  const share = (find(ground, /^b of the background/) ?? 1) / breath;
  const background = ground.length < 2 ? 0 : (need(ground, /^its reading/) - anchored(ground)) * share;
  const factor = (name: RegExp): number => need(factors, name);
  const challenge = (factor(/^F,/) * (span - zero) * factor(/^D_ref/)) / factor(/^P_ref/);
  return (breath * ((reading - zero - background) * ((100 * factor(/^D,/)) / factor(/^P,/)))) / challenge;
}

function anchored(lines: readonly string[]): number {
  const later = need(lines, /^share of the one after/);
  const sides = [find(lines, /^dwell \d+, before/) ?? 0, find(lines, /^dwell \d+, after/) ?? 0] as const;
  return (1 - later) * sides[0] + later * sides[1];
}

/** The number of the first line whose text begins like this. */
function find(lines: readonly string[], label: RegExp): number | null {
  for (const line of lines) {
    const match = /^ {2}(\S.*?) {2,}(-?[0-9]+(?:\.[0-9]+)?)(?: |$)/.exec(line);
    if (match?.[1] !== undefined && label.test(match[1])) return Number(match[2]);
  }
  return null;
}

function need(lines: readonly string[], label: RegExp): number {
  const number = find(lines, label);
  if (number === null) throw new Error(`nothing printed for ${String(label)} in:\n${lines.join('\n')}`);
  return number;
}
