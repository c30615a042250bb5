import type { RigHand, SubjectCue } from './contract.ts';
import { Breath } from './breath.ts';
import { Chamber } from './chamber.ts';
import { drawTrueValues, type TrueValues } from './draws.ts';
import { Ensemble } from './ensemble.ts';
import { Optics } from './optics.ts';
import { RandomStream } from './random.ts';
import { SamplingLine } from './sampling-line.ts';
import { type Scenario, stepMilliseconds, usualBreathing } from './scenario.ts';
import { Selector } from './selector.ts';
import { Subject } from './subject.ts';

export const stepMicroseconds = stepMilliseconds * 1000;
const stepSeconds = stepMilliseconds / 1000;

/** Slow processes (generator, slow leak, drifts) are renewed this often. */
const stepsPerNoise = 10;

/** Cadence of whoever has a load to pedal against, per minute. */
const pedallingPerMinute = 60;

/** Steps in one bin of the truth. */
export const stepsPerBin = 5;

/** What takes the truth, bin by bin; `atMicroseconds` from the rig's start. */
export type TruthBins = (
  atMicroseconds: number,
  challenge: number,
  reference: number,
  cells: ArrayLike<number>,
  inspiredShare: number,
) => void;

export interface PhysicsOptions {
  readonly scenario: Scenario;
  readonly seed: number;
  readonly truth: TruthBins | null;
  /** The subject is inside already, and everything steady for this movement (null: rest). */
  readonly startedInside: { readonly exercise: string | null } | null;
}

interface Pending {
  readonly step: number;
  readonly action: () => void;
}

/**
 * The whole rig on a grid of 10 ms. Times are microseconds since the rig's start and must not run backwards. State
 * is brought up to the last whole step before the moment asked for, so what happens does not depend on how often
 * anybody looks. A change acts at its time rounded to the nearest step (never before what has been read already).
 */
export class RigPhysics {
  readonly trueValues: TrueValues;
  readonly #scenario: Scenario;
  readonly #chamber: Chamber;
  readonly #ensemble: Ensemble;
  readonly #subject: Subject;
  readonly #breath: Breath;
  /** By port: 1 where what enters the line is thinned by what the subject breathes out. */
  readonly #inBreath: Uint8Array;
  readonly #selector: Selector;
  #load = 0;
  readonly #lines: readonly SamplingLine[];
  readonly #gains: Float64Array;
  readonly #backgrounds: Float64Array;
  readonly #zoneOfPort: Int32Array;
  readonly #referencePort: number;
  readonly #blocked: Uint8Array;
  /** Share of chamber air that comes in on the way, by port. */
  readonly #leaking: Float64Array;
  /** What hands have put at the end of a line; null: what belongs there. */
  readonly #handled: (((reference: number) => number) | null)[];
  readonly #seed: number;
  readonly #common: SamplingLine;
  readonly #optics: Optics;
  readonly #stepsPerReading: number;
  readonly #truth: TruthBins | null;
  readonly #binSums: Float64Array;
  readonly #binCells: Float64Array;
  #binSteps = 0;
  #binChallenge = 0;
  #binReference = 0;
  #binInspired = 0;
  #inside: boolean;
  #steps = 0;
  #pending: Pending[] = [];

  constructor(options: PhysicsOptions) {
    const { scenario, seed } = options;
    const rig = scenario.rig;
    // A rig that is resumed has the same true values, but not the same noise a second time.
    const salt = options.startedInside === null ? '' : ' resumed';
    const noiseInterval = stepSeconds * stepsPerNoise;
    const values = drawTrueValues(scenario, seed);
    this.trueValues = values;
    this.#scenario = scenario;
    this.#truth = options.truth;
    this.#chamber = new Chamber(
      scenario.chamber,
      values.steadyConcentration,
      stepSeconds,
      noiseInterval,
      new RandomStream(seed, `generator${salt}`),
    );
    this.#ensemble = new Ensemble(scenario, values, seed, salt, stepSeconds, noiseInterval);
    this.#subject = new Subject(scenario, seed, salt, stepSeconds);
    const { breathing = usualBreathing } = scenario.subject;
    this.#breath = new Breath(scenario.subject, breathing, new RandomStream(seed, `breath${salt}`), stepSeconds);
    this.#inBreath = Uint8Array.from(rig.ports, ({ breathingZone = false }) => (breathingZone ? 1 : 0));
    this.#inside = options.startedInside !== null;
    if (options.startedInside !== null) {
      const exercise = options.startedInside.exercise;
      this.#ensemble.move(exercise);
      this.#subject.move(exercise);
      this.#chamber.concentration = values.steadyConcentration;
      this.#ensemble.settle(values.steadyConcentration * values.spatialFactor);
    }
    const zones = scenario.ensemble.zones;
    this.#zoneOfPort = Int32Array.from(rig.ports, (port) =>
      port.role === 'probe' ? zones.findIndex((zone) => zone.probe === port.probe) : -1,
    );
    this.#referencePort = rig.ports.findIndex((port) => port.role === 'reference');
    this.#gains = Float64Array.from(values.ports, (port) => port.penetration / port.dilution);
    this.#backgrounds = Float64Array.from(values.backgrounds);
    this.#blocked = new Uint8Array(rig.ports.length);
    this.#leaking = new Float64Array(rig.ports.length);
    this.#handled = rig.ports.map(() => null);
    this.#seed = seed;
    this.#lines = values.ports.map(
      (port, index) =>
        new SamplingLine({
          transitSeconds: port.transitSeconds,
          dispersionSeconds: scenario.sampling.portDispersionSeconds,
          tail: null,
          stepSeconds,
          start: this.#inlet(index, this.#chamber.concentration),
        }),
    );
    this.#selector = new Selector(
      rig.ports.map((port) => port.port),
      scenario.rig.valveSwitchingSeconds / stepSeconds,
      scenario.valve.startPort,
    );
    const begun = this.#lines[this.#selector.target]?.output ?? 0;
    this.#common = new SamplingLine({
      transitSeconds: values.commonTransitSeconds,
      dispersionSeconds: rig.commonDispersionSeconds,
      tail: scenario.sampling.tail,
      stepSeconds,
      start: begun,
    });
    this.#optics = new Optics(scenario, values.timeConstantSeconds, seed, salt, stepSeconds, noiseInterval, begun);
    this.#stepsPerReading = scenario.photometer.intervalMilliseconds / stepMilliseconds;
    this.#binSums = new Float64Array(zones.length);
    this.#binCells = new Float64Array(zones.length);
  }

  /** Brings the state up to the last whole step at or before this time. */
  advanceTo(atMicroseconds: number): void {
    const last = Math.floor(atMicroseconds / stepMicroseconds);
    while (this.#steps < last) {
      while (this.#pending.length > 0 && (this.#pending[0] as Pending).step <= this.#steps) {
        (this.#pending.shift() as Pending).action();
      }
      this.#step();
    }
  }

  /** What the photometer's electronics would show at this moment, in its unit. */
  readPhotometer(atMicroseconds: number): number {
    this.advanceTo(atMicroseconds);
    const beyond = Math.max(0, atMicroseconds - this.#steps * stepMicroseconds) / 1e6;
    return this.#optics.read(beyond, atMicroseconds / 1e6);
  }

  /** The brake of the ergometer, W. */
  setLoad(atMicroseconds: number, watts: number): void {
    this.#load = watts;
    this.#perform(atMicroseconds, () => this.#subject.setLoad(watts));
  }

  /** Whoever has something to push against pedals evenly. */
  readErgometer(): ReadonlyMap<string, number> {
    return new Map([
      ['power', this.#load],
      ['cadence', this.#load > 0 ? pedallingPerMinute : 0],
    ]);
  }

  /** Heart rate, per minute. */
  readHeartRate(atMicroseconds: number): number {
    this.advanceTo(atMicroseconds);
    return this.#subject.heartRate;
  }

  /** Flow of the subject's breath, into the subject positive, L/min. */
  readBreath(atMicroseconds: number): number {
    this.advanceTo(atMicroseconds);
    return this.#breath.flowLitresPerMinute;
  }

  /** Intervals between beats since the last call, s. */
  takeRrIntervals(atMicroseconds: number): number[] {
    this.advanceTo(atMicroseconds);
    return this.#subject.takeIntervals();
  }

  /** The valve leaves its port for another. A number that is not connected gives clean air. */
  moveValve(atMicroseconds: number, port: number): void {
    this.#perform(atMicroseconds, () => this.#selector.moveTo(port));
  }

  setGenerator(atMicroseconds: number, runs: boolean): void {
    this.#perform(atMicroseconds, () => {
      this.#chamber.generatorRuns = runs;
    });
  }

  openDoor(atMicroseconds: number): void {
    this.#perform(atMicroseconds, () => this.#chamber.openDoor());
  }

  doorIsOpen(atMicroseconds: number): boolean {
    this.advanceTo(atMicroseconds);
    return this.#chamber.doorIsOpen;
  }

  /** A kinked line: nothing that enters it reaches the valve. */
  setBlocked(atMicroseconds: number, probe: string, blocked: boolean): void {
    const port = this.#scenario.rig.ports.findIndex((candidate) => candidate.probe === probe);
    this.#perform(atMicroseconds, () => {
      if (port >= 0) this.#blocked[port] = blocked ? 1 : 0;
    });
  }

  /** A joint before the valve that lets chamber air in; 0 for none. */
  setLeaking(atMicroseconds: number, probe: string, share: number): void {
    const port = this.#scenario.rig.ports.findIndex((candidate) => candidate.probe === probe);
    this.#perform(atMicroseconds, () => {
      if (port >= 0) this.#leaking[port] = share;
    });
  }

  /** Hands change what is at the end of a line. */
  setInlet(atMicroseconds: number, hand: RigHand): void {
    const port = this.#scenario.rig.ports.findIndex((candidate) => candidate.probe === hand.probe);
    const air = this.#airOf(hand);
    this.#perform(atMicroseconds, () => {
      if (port >= 0) this.#handled[port] = air;
    });
  }

  #airOf(hand: RigHand): ((reference: number) => number) | null {
    if (hand.hand === 'source') return () => hand.concentration;
    if (hand.hand === 'place') {
      const factor = placeFactor(this.#scenario, this.#seed, hand.place);
      return (reference) => factor * reference;
    }
    if (hand.air === 'own') return null;
    return hand.air === 'chamber' ? (reference) => reference : () => 0;
  }

  jumpZero(atMicroseconds: number, percentOfChallenge: number): void {
    this.#perform(atMicroseconds, () => this.#optics.jumpZero(percentOfChallenge));
  }

  jumpSpan(atMicroseconds: number, percent: number): void {
    this.#perform(atMicroseconds, () => this.#optics.jumpSpan(percent));
  }

  /**
   * What the subject performs when told to do it: the movement of that name; of `side-bends-2` that of `side-bends`;
   * of what it does not know the first of its movements, since a series of one's own must not stop the rig.
   */
  #performed(exercise: string): string {
    const candidates = [exercise, exercise.replace(/-\d+$/, ''), this.#scenario.movements[0]?.exercise ?? exercise];
    return candidates.find((candidate) => this.#ensemble.knows(candidate)) ?? exercise;
  }

  /** What the subject does on hearing a cue. Entering and leaving open the door. */
  cue(atMicroseconds: number, cue: SubjectCue): void {
    this.#perform(atMicroseconds, () => {
      if (cue.cue === 'enter' && !this.#inside) {
        this.#inside = true;
        this.#chamber.openDoor();
      }
      if (cue.cue === 'leave' && this.#inside) {
        this.#inside = false;
        this.#chamber.openDoor();
      }
      const exercise = cue.cue === 'begin' && cue.exercise !== null ? this.#performed(cue.exercise) : null;
      this.#ensemble.move(exercise);
      this.#subject.move(exercise);
    });
  }

  /** Chamber at the reference point now, in the photometer's unit. */
  get chamberConcentration(): number {
    return this.#chamber.concentration;
  }

  /** Optics without zero, span and noise, at the end of the last step. */
  get opticsResponse(): number {
    return this.#optics.response;
  }

  #perform(atMicroseconds: number, action: () => void): void {
    this.advanceTo(atMicroseconds);
    const step = Math.round(atMicroseconds / stepMicroseconds);
    if (step <= this.#steps && this.#pending.length === 0) action();
    else this.#pending.push({ step, action });
  }

  /** Concentration that enters a port's line, after loss and dilution. */
  #inlet(port: number, reference: number): number {
    let concentration = 0;
    const handled = this.#handled[port];
    if (handled != null) concentration = handled(reference);
    else if (port === this.#referencePort) concentration = reference;
    else {
      const zone = this.#zoneOfPort[port] as number;
      if (zone >= 0) {
        concentration = (this.#ensemble.cellMeans[zone] as number) + (this.#backgrounds[zone] as number);
        // What is breathed out carries nothing.
        if (this.#inBreath[port] === 1) concentration *= this.#breath.inspiredShare;
      }
    }
    return concentration * (this.#gains[port] as number);
  }

  #step(): void {
    const reference = this.#chamber.step(this.#steps * stepSeconds);
    const challenge = this.#inside ? reference * this.trueValues.spatialFactor : 0;
    this.#ensemble.step(challenge);
    this.#subject.step();
    this.#breath.work(this.#subject.powerWatts);
    this.#breath.step();
    this.#selector.step();
    const bypass = this.#scenario.rig.bypass;
    const shares = this.#selector.shares;
    let drawn = 0;
    for (let port = 0; port < this.#lines.length; port += 1) {
      const line = this.#lines[port] as SamplingLine;
      const share = shares[port] as number;
      const blocked = this.#blocked[port] === 1;
      if (!blocked && (bypass || share >= 0.5)) line.step(this.#inlet(port, reference));
      const leak = this.#leaking[port] as number;
      if (!blocked) drawn += share * ((1 - leak) * line.output + leak * reference);
    }
    this.#optics.step(this.#common.step(drawn));
    this.#steps += 1;
    if (this.#steps % stepsPerNoise === 0) {
      this.#chamber.renewNoise();
      this.#ensemble.renewNoise();
      this.#optics.renewNoise();
    }
    if (this.#steps % this.#stepsPerReading === 0) this.#optics.renewReadingNoise();
    if (this.#truth !== null) this.#collect(this.#truth, challenge, reference);
  }

  #collect(truth: TruthBins, challenge: number, reference: number): void {
    const cells = this.#ensemble.cellMeans;
    const sums = this.#binSums;
    this.#binChallenge += challenge;
    this.#binReference += reference;
    this.#binInspired += this.#breath.inspiredShare;
    for (let zone = 0; zone < sums.length; zone += 1) sums[zone] = (sums[zone] as number) + (cells[zone] as number);
    this.#binSteps += 1;
    if (this.#binSteps < stepsPerBin) return;
    for (let zone = 0; zone < sums.length; zone += 1) {
      this.#binCells[zone] = (sums[zone] as number) / stepsPerBin;
      sums[zone] = 0;
    }
    truth(
      (this.#steps - stepsPerBin) * stepMicroseconds,
      this.#binChallenge / stepsPerBin,
      this.#binReference / stepsPerBin,
      this.#binCells,
      this.#binInspired / stepsPerBin,
    );
    this.#binInspired = 0;
    this.#binChallenge = 0;
    this.#binReference = 0;
    this.#binSteps = 0;
  }
}

/** Concentration at a place of the chamber divided by that at the reference point: the same place, the same factor. */
export function placeFactor(scenario: Scenario, seed: number, place: string): number {
  const random = new RandomStream(seed, `place ${place}`);
  return Math.max(0, 1 + ((scenario.chamber.unevennessPercent ?? 0) / 100) * random.normal());
}
