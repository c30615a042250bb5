import { type HeartRecord, summarizeHeart } from './heart-rate.ts';
import { requireThat, requireWithin } from './validity.ts';

/** Millilitres of oxygen per minute and kilogram in one metabolic equivalent. */
const perEquivalent = 3.5;

/**
 * Oxygen uptake in leg cycling, mL/(min·kg): 1.8 · load/mass + 7, load in kg·m/min. ACSM, seen on a formula sheet.
 * @throws ChambersideError `outside-validity` outside 300 to 1200 kg·m/min or 40 to 150 kg.
 */
export function cyclingUptake(kilogramMetresPerMinute: number, massKilograms: number): number {
  const formula = 'the uptake of leg cycling (ACSM)';
  const range = { name: 'the load', unit: 'kg·m/min', lowest: 300, highest: 1200 };
  requireWithin(kilogramMetresPerMinute, range, formula, 'Choose a load inside, or measure the uptake.');
  requireMass(massKilograms, formula);
  return (1.8 * kilogramMetresPerMinute) / massKilograms + 7;
}

/** The same with the load in W: 10.8 · load/mass + 7, which takes 6 kg·m/min for a watt. 50 to 200 W. */
export function cyclingUptakeWatts(watts: number, massKilograms: number): number {
  const formula = 'the uptake of leg cycling (ACSM)';
  const range = { name: 'the load', unit: 'W', lowest: 50, highest: 200 };
  requireWithin(watts, range, formula, 'Choose a load inside, or measure the uptake.');
  requireMass(massKilograms, formula);
  return (10.8 * watts) / massKilograms + 7;
}

/**
 * Oxygen uptake in walking, mL/(min·kg): 0.1 S + 1.8 S G + 3.5. ACSM, seen on a formula sheet.
 * @param metresPerMinute speed, 50 to 100 (range from memory). @param grade 0.1 is 10 %; 0 to 0.25.
 * @throws ChambersideError `outside-validity`.
 */
export function walkingUptake(metresPerMinute: number, grade: number): number {
  const formula = 'the uptake of walking (ACSM)';
  const speed = { name: 'the speed', unit: 'm/min', lowest: 50, highest: 100 };
  requireWithin(metresPerMinute, speed, formula, 'Running has another formula: measure the uptake.');
  requireWithin(grade, { name: 'the grade', unit: '', lowest: 0, highest: 0.25 }, formula, 'Give 0.1 for 10 %.');
  return 0.1 * metresPerMinute + 1.8 * metresPerMinute * grade + perEquivalent;
}

/** Metabolic equivalents: uptake/3.5. */
export function metabolicEquivalents(uptake: number): number {
  return uptake / perEquivalent;
}

/** One load, held from one time to another. */
export interface WorkStep {
  readonly watts: number;
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

export interface JudgedStep extends WorkStep {
  /** Mean heart rate of its last minute, a minute. */
  readonly perMinute: number;
  /** Last minute minus the minute before. */
  readonly change: number;
  readonly steady: boolean;
}

/** A step is steady when its last two minutes differ by no more than this (common practice). */
export const steadyWithinPerMinute = 5;

/**
 * Heart rate at a load, and whether it had become steady.
 * @throws ChambersideError `outside-validity` for a step under three minutes; `record-insufficient` without readings.
 */
export function judgeStep(step: WorkStep, record: HeartRecord): JudgedStep {
  const length = step.toSeconds - step.fromSeconds;
  const range = { name: 'the length of the step', unit: 's', lowest: 180, highest: 3600 };
  requireWithin(length, range, 'the steady state of a work-rate step', 'Hold each load for at least three minutes.');
  const last = summarizeHeart(record, step.toSeconds - 60, step.toSeconds).mean;
  const before = summarizeHeart(record, step.toSeconds - 120, step.toSeconds - 60).mean;
  const change = last - before;
  return { ...step, perMinute: last, change, steady: Math.abs(change) <= steadyWithinPerMinute };
}

export interface WorkLine {
  /** Heart rate at no load, and its rise for a watt. */
  readonly intercept: number;
  readonly perWatt: number;
}

/** Straight line of heart rate on load. @throws ChambersideError `outside-validity` unless it rises over two loads. */
export function heartOnWork(points: readonly { readonly watts: number; readonly perMinute: number }[]): WorkLine {
  const formula = 'the line of heart rate on work rate';
  const remedy = 'Take at least two steady steps at different loads.';
  requireThat(points.length >= 2, `there are ${points.length} steady steps`, formula, remedy);
  const load = points.reduce((sum, { watts }) => sum + watts, 0) / points.length;
  const rate = points.reduce((sum, { perMinute }) => sum + perMinute, 0) / points.length;
  const spread = points.reduce((sum, { watts }) => sum + (watts - load) ** 2, 0);
  const together = points.reduce((sum, { watts, perMinute }) => sum + (watts - load) * (perMinute - rate), 0);
  const perWatt = together / spread;
  requireThat(perWatt > 0 && perWatt < Infinity, 'the heart rate does not rise with the load', formula, remedy);
  return { intercept: rate - perWatt * load, perWatt };
}

/**
 * Work capacity at 170 a minute, W: the line of heart rate on load, at 170. Two loads or more, the lowest giving 120 to
 * 140 a minute and the highest 150 to 170; seen on a public page of the PWC170 test.
 * @throws ChambersideError `outside-validity` outside of that.
 */
export function workCapacity170(points: readonly { readonly watts: number; readonly perMinute: number }[]): number {
  const formula = 'the work capacity at 170 a minute';
  const line = heartOnWork(points);
  const rates = points.map(({ perMinute }) => perMinute);
  const remedy = 'Choose loads that give 120 to 140 and 150 to 170 a minute.';
  const low = { name: 'the lowest heart rate', unit: '/min', lowest: 120, highest: 140 };
  requireWithin(Math.min(...rates), low, formula, remedy);
  const high = { name: 'the highest heart rate', unit: '/min', lowest: 150, highest: 170 };
  requireWithin(Math.max(...rates), high, formula, remedy);
  return (170 - line.intercept) / line.perWatt;
}

export type Sex = 'man' | 'woman';

/** Factors by age of the Åstrand–Ryhming estimate; from memory, and other sources use others. */
const ageFactors = [
  [15, 1.1],
  [25, 1],
  [35, 0.87],
  [40, 0.83],
  [45, 0.78],
  [50, 0.75],
  [55, 0.71],
  [60, 0.68],
  [65, 0.65],
] as const;

/**
 * Highest oxygen uptake from a submaximal one, L/min: men VO2 (195 − 61)/(HR − 61), women VO2 (198 − 72)/(HR − 72)
 * (Åstrand and Ryhming, analytic form from memory; range of the heart rate seen). Good to 10 to 15 %.
 * @param litresPerMinute uptake at a steady heart rate of 125 to 170 a minute.
 * @param ageYears null leaves the factor for age out. @throws ChambersideError `outside-validity` outside 15 to 65.
 */
export function highestUptake(sex: Sex, litresPerMinute: number, perMinute: number, ageYears: number | null): number {
  const formula = 'the highest oxygen uptake from a submaximal one';
  const rate = { name: 'the heart rate', unit: '/min', lowest: 125, highest: 170 };
  requireWithin(perMinute, rate, formula, 'Choose a load that gives 125 to 170 a minute.');
  const uptake = { name: 'the uptake', unit: 'L/min', lowest: 0.5, highest: 5 };
  requireWithin(litresPerMinute, uptake, formula, 'Check the uptake and its unit.');
  const [rest, highest] = sex === 'man' ? [61, 195] : [72, 198];
  const estimate = (litresPerMinute * (highest - rest)) / (perMinute - rest);
  return ageYears === null ? estimate : estimate * ageFactor(ageYears, formula);
}

function ageFactor(ageYears: number, formula: string): number {
  const range = { name: 'the age', unit: 'years', lowest: 15, highest: 65 };
  requireWithin(ageYears, range, formula, 'Leave the factor for age out, or measure the uptake.');
  const after = ageFactors.findIndex(([age]) => age >= ageYears);
  const [age = 0, factor = 1] = ageFactors[after] ?? [];
  const [ageBefore = age, factorBefore = factor] = ageFactors[after - 1] ?? [];
  if (age === ageBefore) return factor;
  return factorBefore + ((factor - factorBefore) * (ageYears - ageBefore)) / (age - ageBefore);
}

/**
 * Metabolic rate from heart rate, W/m² (ISO 8996, level 3 in the form of 2004; all numbers from memory: verify against
 * the standard). M = 55 + (HR − HR0)/RM, RM = (HRmax − HR0)/(MWC − 55), HRmax = 205 − 0.62 age, MWC = (41.7 or 35.0 −
 * 0.22 age) · mass^0.666. About 10 %.
 * @throws ChambersideError `outside-validity` outside 20 to 65 years, 40 to 150 kg, a resting rate of 40 to 100, or a
 * heart rate of 120 to HRmax − 20.
 */
export function metabolicRate(
  sex: Sex,
  ageYears: number,
  massKilograms: number,
  restPerMinute: number,
  perMinute: number,
): number {
  const formula = 'the metabolic rate from heart rate (ISO 8996)';
  const age = { name: 'the age', unit: 'years', lowest: 20, highest: 65 };
  requireWithin(ageYears, age, formula, 'Measure the oxygen uptake.');
  requireMass(massKilograms, formula);
  const rest = { name: 'the resting heart rate', unit: '/min', lowest: 40, highest: 100 };
  requireWithin(restPerMinute, rest, formula, 'Measure it again, sitting and after five minutes.');
  const highest = 205 - 0.62 * ageYears;
  const rate = { name: 'the heart rate', unit: '/min', lowest: 120, highest: highest - 20 };
  requireWithin(perMinute, rate, formula, 'Below it the heart follows other things than work.');
  const atRest = 55;
  const capacity = ((sex === 'man' ? 41.7 : 35) - 0.22 * ageYears) * massKilograms ** 0.666;
  const perUnit = (highest - restPerMinute) / (capacity - atRest);
  return atRest + (perMinute - restPerMinute) / perUnit;
}

function requireMass(massKilograms: number, formula: string): void {
  const range = { name: 'the body mass', unit: 'kg', lowest: 40, highest: 150 };
  requireWithin(massKilograms, range, formula, 'Check the mass and its unit.');
}
