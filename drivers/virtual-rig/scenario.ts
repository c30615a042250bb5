import { z } from 'zod';
import { ChambersideError } from '../../src/model/error-code.ts';
import { slugSchema } from '../../src/model/identity.ts';
import { rigEntrySchema } from '../../src/model/rig-entry.ts';
import { probePorts } from '../../src/model/rig.ts';
import { seriesEntrySchema } from '../../src/model/series-entry.ts';
import { rigFaultSchema } from './fault-schema.ts';

const seconds = z.number().nonnegative().max(86_400);
const positiveSeconds = z.number().positive().max(86_400);
const percent = z.number().nonnegative().max(1000);
const percentPerHour = z.number().min(-1000).max(1000);
const logDeviation = z.number().nonnegative().max(5);
const litres = z.number().positive().max(10_000);
const litresPerMinute = z.number().nonnegative().max(100_000);

/** The grid of the physics, milliseconds. Everything that happens is rounded to it. */
export const stepMilliseconds = 10;

const driftSchema = z.strictObject({
  /** Straight line, per hour. */
  linearPercentPerHour: percentPerHour,
  /** Sine of random phase with this steepest slope, per hour. */
  smoothPercentPerHour: percent,
  smoothPeriodMinutes: z.number().min(30).max(1440),
  /** Random walk, per square root of an hour. */
  walkPercentPerRootHour: percent,
});
export type Drift = z.infer<typeof driftSchema>;

const zoneSchema = z.strictObject({
  /** The zone's air is read by the probe of this name. */
  probe: slugSchema,
  volumeLitres: litres,
  /** Clean air from the fan unit into this zone. It washes the zone whatever leaks in: volume/inflow is its flush. */
  cleanInflowLitresPerMinute: litresPerMinute.positive(),
  /** Share of the leak that comes in bursts, the rest flows steadily; 0 to 1. */
  burstShare: z.number().min(0).max(1),
  /** Air pushed out on the deflating stroke of a movement of amplitude 1, percent of the volume. */
  strokePercent: z.number().min(0).max(50),
  /** Aerosol of the ensemble's own at the probe, percent of the challenge; there before the challenge too. */
  backgroundPercent: percent,
});

const pathSchema = z.strictObject({
  path: slugSchema,
  zone: slugSchema,
  millilitresPerMinute: z.number().nonnegative().max(1e7),
});

const movementSchema = z.strictObject({
  exercise: slugSchema,
  /** Overrides the cadence of the series; strokes a minute, null: as the series says. */
  strokesPerMinute: z.number().positive().max(300).nullable(),
  /** How far the zones' air is pumped, 1 for walking on the spot. */
  amplitude: z.number().nonnegative().max(5),
  /** Leak of a zone during this movement divided by its leak at the ordinary movement, by probe. */
  leakFactors: z.record(slugSchema, z.number().nonnegative().max(100)),
  /** Metabolic work above rest, W of external power. */
  workRateWatts: z.number().nonnegative().max(600),
});

/** Everything that a virtual rig is made of: what the laboratory has on paper, and the physics behind it. */
export const scenarioSchema = z
  .strictObject({
    name: slugSchema,
    title: z.string().min(1).max(200),
    /** Certificate values. The true ones of a trial are drawn around them. */
    rig: rigEntrySchema,
    series: seriesEntrySchema,
    /** `drawn`: true dilution, spatial factor, penetration, tau and transits come from the stated distributions. */
    trueValues: z.enum(['drawn', 'stated']),
    chamber: z.strictObject({
      /** Volume/flow: the air change time, s. */
      exchangeSeconds: positiveSeconds,
      /** Concentration at the start, percent of the steady one. */
      startPercent: percent,
      /** Steady concentration at the reference point, percent of the nominal challenge. */
      levelPercent: z.number().positive().max(1000),
      levelStandardDeviationPercent: percent,
      /** Standard deviation of the generator's output. */
      generatorFluctuationPercent: percent,
      generatorCorrelationSeconds: positiveSeconds,
      driftPercentPerHour: percentPerHour,
      door: z.strictObject({ openSeconds: seconds, exchangePerSecond: z.number().nonnegative().max(10) }),
      /** How much denser or thinner other places are than the reference point, standard deviation; default none. */
      unevennessPercent: percent.optional(),
    }),
    ensemble: z.strictObject({
      zones: z.array(zoneSchema).min(1),
      /** Air that two zones trade, L/min each way. */
      exchanges: z.array(z.strictObject({ between: z.tuple([slugSchema, slugSchema]), litresPerMinute })),
      /** Ways in for the challenge, mL/min at the ordinary movement. Leakage is proportional to them. */
      paths: z.array(pathSchema).min(1),
      /** The small volume at each probe, whose air is what the probe really sees. */
      cell: z.strictObject({
        volumeLitres: litres,
        /** Air that passes through it: volume/flow is its flush. */
        litresPerSecond: z.number().positive().max(1000),
        /** Share of that air which has just leaked in; the rest is the zone's. */
        directShare: z.number().min(0).max(1),
      }),
      /** Leak at rest divided by the leak at the ordinary movement. */
      restShare: z.number().min(0).max(1),
      /** Fit of this ensemble on this subject: standard deviation of ln(path). */
      fitLogStandardDeviation: logDeviation,
      /** Each exercise in each zone: standard deviation of ln(leak). */
      exerciseLogStandardDeviation: logDeviation,
      /** Change of the leak from the first to the last moment of an exercise, standard deviation. */
      trendPercent: percent,
      /** Coefficient of variation from stroke to stroke. */
      strokePercent: percent,
      slowPercent: percent,
      slowCorrelationSeconds: positiveSeconds,
      backgroundLogStandardDeviation: logDeviation,
    }),
    movements: z.array(movementSchema),
    subject: z.strictObject({
      ageYears: z.number().min(16).max(90),
      restPerMinute: z.number().min(30).max(120),
      /** Heart rate per external power, 1/(min·W). */
      perWatt: z.number().nonnegative().max(10),
      risingSeconds: positiveSeconds,
      fallingSeconds: positiveSeconds,
      /** Slow rise of the heart rate with work done, 1/min per hour of exercise. */
      driftPerHour: z.number().nonnegative().max(1000),
      /** Beat to beat, coefficient of variation of the interval. */
      variabilityPercent: percent,
      breathsPerMinute: z.number().positive().max(120),
      /** How each breath goes; default 40 % of it in, 0.8 L at rest, varying by 12 %. */
      breathing: z
        .strictObject({
          inspiredPercent: z.number().min(20).max(70),
          tidalLitres: z.number().min(0.1).max(5),
          /** Of length, share in and volume from breath to breath, coefficient of variation. */
          variabilityPercent: z.number().min(0).max(30),
        })
        .optional(),
    }),
    sampling: z.strictObject({
      /** Standard deviation of the residence time in the line from a probe to the valve, s. */
      portDispersionSeconds: z.number().nonnegative().max(120),
      /** Wall desorption in the common line. */
      tail: z.strictObject({ share: z.number().min(0).max(1), seconds: positiveSeconds }).nullable(),
    }),
    valve: z.strictObject({
      /** From the end of the movement to the acknowledgement, s. */
      acknowledgeDelaySeconds: z.number().nonnegative().max(120),
      startPort: z.number().int().min(1).max(32),
    }),
    photometer: z.strictObject({
      intervalMilliseconds: z.number().int().min(10).max(1000).multipleOf(stepMilliseconds),
      /** Stray light, in the photometer's unit. */
      zeroReading: z.number().min(-1e9).max(1e9),
      /** Reading per concentration; 1 is right. */
      span: z.number().positive().max(1000),
      /**
       * How far the reading of half the nominal challenge lies above the straight line from nothing to the nominal
       * challenge, percent of it; the course between is a parabola. Default none.
       */
      curvaturePercent: z.number().min(-20).max(20).optional(),
      /** Percent of the nominal challenge. */
      zeroDrift: driftSchema,
      /** Percent of the span. */
      spanDrift: driftSchema,
      /** White, percent of the nominal challenge per 20 Hz reading. */
      baselineNoisePercent: percent,
      /** k in k·√c percent of the challenge on a 1 s mean at c percent. */
      shotNoisePercent: percent,
      /** Smallest step of a reading, in the photometer's unit; 0 for none. */
      quantum: z.number().nonnegative().max(1e9),
    }),
    belt: z.strictObject({ intervalMilliseconds: z.number().int().min(100).max(10_000) }),
    /** What goes wrong, counted from the rig's start. */
    faults: z.array(z.strictObject({ atSeconds: seconds, fault: rigFaultSchema })),
  })
  .superRefine((scenario, context) => {
    const problem = (message: string, path: PropertyKey[]): void => {
      context.addIssue({ code: 'custom', message, path });
    };
    const probes = probePorts(scenario.rig).map((port) => port.probe);
    const zones = scenario.ensemble.zones.map((zone) => zone.probe);
    if (zones.length !== probes.length || zones.some((zone, index) => zone !== probes[index])) {
      problem(`needs one zone for each probe of the rig, in its order: ${probes.join(', ')}`, ['ensemble', 'zones']);
    }
    for (const [index, path] of scenario.ensemble.paths.entries()) {
      if (!zones.includes(path.zone)) problem(`leads into no zone: ${path.zone}`, ['ensemble', 'paths', index, 'zone']);
    }
    for (const [index, exchange] of scenario.ensemble.exchanges.entries()) {
      for (const zone of exchange.between) {
        if (!zones.includes(zone)) problem(`names no zone: ${zone}`, ['ensemble', 'exchanges', index, 'between']);
      }
      if (exchange.between[0] === exchange.between[1]) {
        problem('a zone cannot trade air with itself', ['ensemble', 'exchanges', index, 'between']);
      }
    }
    for (const [index, movement] of scenario.movements.entries()) {
      for (const probe of Object.keys(movement.leakFactors)) {
        if (!zones.includes(probe)) problem(`names no zone: ${probe}`, ['movements', index, 'leakFactors']);
      }
    }
    for (const exercise of scenario.series.exercises) {
      const count = scenario.movements.filter((movement) => movement.exercise === exercise.exercise).length;
      if (count !== 1) problem(`needs exactly one movement for the exercise ${exercise.exercise}`, ['movements']);
    }
    const portNumbers = scenario.rig.ports.map((port) => port.port);
    if (!portNumbers.includes(scenario.valve.startPort)) {
      problem('is not connected in the rig', ['valve', 'startPort']);
    }
    for (const [index, port] of scenario.rig.ports.entries()) {
      if (port.transitSeconds.value < 2 * scenario.sampling.portDispersionSeconds) {
        problem('must be at least twice the dispersion of the port lines', ['rig', 'ports', index, 'transitSeconds']);
      }
    }
    if (scenario.rig.commonTransitSeconds.value < 2 * scenario.rig.commonDispersionSeconds) {
      problem('must be at least twice the common dispersion', ['rig', 'commonTransitSeconds']);
    }
    const instruments = scenario.rig.instruments.map((entry) => entry.instrument);
    for (const [index, entry] of scenario.faults.entries()) {
      const fault = entry.fault;
      if ((fault.fault === 'wire' || fault.fault === 'unplug') && !instruments.includes(fault.instrument)) {
        problem(`names no instrument of the rig: ${fault.instrument}`, ['faults', index, 'fault', 'instrument']);
      }
      const hasContacts = scenario.rig.instruments.some(({ kind }) => kind === 'contact');
      if ((fault.fault === 'subject-stop' || fault.fault === 'contact') && !hasContacts) {
        problem('needs an instrument of the kind contact in the rig', ['faults', index, 'fault']);
      }
      const ofLine = fault.fault === 'line-blocked' || fault.fault === 'line-leaks';
      if (ofLine && !scenario.rig.ports.some((port) => port.probe === fault.probe)) {
        problem(`names no port of the rig: ${fault.probe}`, ['faults', index, 'fault', 'probe']);
      }
    }
  });
export type Scenario = z.infer<typeof scenarioSchema>;

/** How the subject of a scenario breathes that does not say. */
export const usualBreathing: NonNullable<Scenario['subject']['breathing']> = {
  inspiredPercent: 40,
  tidalLitres: 0.8,
  variabilityPercent: 12,
};

/**
 * A scenario from data of unknown origin.
 * @param where the file or command that gave it, for the message.
 * @throws ChambersideError `configuration-invalid` that lists every field that is wrong.
 */
export function parseScenario(data: unknown, where: string): Scenario {
  const result = scenarioSchema.safeParse(data);
  if (result.success) return result.data;
  const lines = result.error.issues.flatMap((issue) => {
    const path = issue.path.map(String);
    if (issue.code !== 'unrecognized_keys') return `${path.join('.') || 'scenario'}: ${issue.message}`;
    return issue.keys.map((key) => `${[...path, key].join('.')}: there is no such field`);
  });
  throw new ChambersideError(
    'configuration-invalid',
    `The scenario does not satisfy its schema: ${lines.join('; ')}`,
    where,
    'Correct the named fields, or begin from one of the scenarios that come with the program.',
  );
}
