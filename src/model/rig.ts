import { z } from 'zod';
import { slugSchema } from './identity.ts';
import { planLimitPrefix, watchedLimitSchema } from './watched-limit.ts';

/** A certificate or check value with its standard uncertainty, both in the unit of the field's name. */
export const statedSchema = z.object({ value: z.number(), standardUncertainty: z.number().nonnegative() });
export type Stated = z.infer<typeof statedSchema>;

const positiveStated = statedSchema.refine((stated) => stated.value > 0, 'the value must be greater than zero');

/** What a port of the selector valve is connected to. */
export const portRoleSchema = z.enum(['probe', 'reference', 'filtered-air', 'spare']);
export type PortRole = z.infer<typeof portRoleSchema>;

export const portSchema = z.object({
  /** Number on the selector valve, 1 to 32. */
  port: z.number().int().min(1).max(32),
  role: portRoleSchema,
  /** Name in results; unique inside the rig. `ankle`, `chamber`, `filtered-air`. */
  probe: slugSchema,
  label: z.string().min(1),
  /** From the probe to the valve, s. */
  transitSeconds: statedSchema,
  /** (sample + make-up flow) / sample flow; 1 when undiluted. */
  dilution: positiveStated,
  /** Share of the aerosol that survives the line, 0 to 1. */
  penetration: positiveStated,
  /** From the probe to the valve along the line, m. Absent: not stated. No result rests on it. */
  lineMetres: z.number().positive().optional(),
  /** Inner diameter of the line, mm. Absent: not stated. No result rests on it. */
  boreMillimetres: z.number().positive().optional(),
  /**
   * True: the probe lies where the subject breathes, as in a mask or a half hood, so that its air is diluted with what
   * the subject breathes out. Absent: it does not.
   */
  breathingZone: z.boolean().optional(),
});
export type Port = z.infer<typeof portSchema>;

/**
 * Whether a dialect speaks on a line with addresses, which several instruments may share. By convention the names of
 * such dialects begin with `modbus`; a contract test holds the drivers to it.
 */
export function mayShareLine(dialect: string): boolean {
  return dialect.startsWith('modbus');
}

/** Kinds of instruments whose load can hurt whoever stands or sits on it. */
const loadKinds: ReadonlySet<string> = new Set(['ergometer', 'treadmill']);

/** Whether an instrument of this kind puts a load on the subject. */
export function putsLoad(kind: string): boolean {
  return loadKinds.has(kind);
}

export const instrumentSchema = z.object({
  instrument: slugSchema,
  kind: slugSchema,
  dialect: slugSchema,
  /** Checked by the dialect's own schema when the rig is opened. */
  settings: z.record(z.string(), z.unknown()),
});
export type InstrumentConfiguration = z.infer<typeof instrumentSchema>;

/** Everything about the rig that a result rests on. Versioned; frozen with its hash into every trial. */
export const rigSchema = z
  .object({
    name: z.string().min(1),
    version: z.number().int().positive(),
    /**
     * True when any part exists only in software: such data are marked everywhere, and signed as a rehearsal. Known of
     * the rig that the program starts; of one that is connected by hand the person says it.
     */
    virtual: z.boolean(),
    instruments: z.array(instrumentSchema).min(2),
    /** Which instruments play which part. */
    photometer: slugSchema,
    /** Stream of the photometer that carries concentration. */
    photometerStream: slugSchema,
    selectorValve: slugSchema,
    heartRate: slugSchema.nullable(),
    /** First-order time constant of the photometer, s. */
    timeConstantSeconds: statedSchema,
    /** Delay inside the photometer that is not its time constant, s. */
    instrumentDelaySeconds: statedSchema,
    /** From the valve to the photometer, s. */
    commonTransitSeconds: statedSchema,
    /** Standard deviation of the common line's residence time, s. */
    commonDispersionSeconds: z.number().nonnegative(),
    /** Time the valve needs to move, s. */
    valveSwitchingSeconds: z.number().nonnegative(),
    /** True when a bypass draws through every line all the time, so that no line holds stale air. */
    bypass: z.boolean(),
    /**
     * Flow that a line carries while air goes through it, L/min: with a bypass what that draws through each line,
     * without one that of the photometer. Absent: not stated. No result rests on it.
     */
    lineLitresPerMinute: z.number().positive().optional(),
    /** Challenge at the subject's place divided by challenge at the reference point. */
    spatialFactor: positiveStated,
    /** Reading above which the photometer saturates, in its stream's unit. */
    saturation: z.number().positive(),
    challenge: z.object({
      agent: z.string().min(1),
      /** Nominal concentration in the photometer stream's unit. */
      nominal: z.number().positive(),
      /** Air change time of the chamber, volume/flow, s: how quickly the challenge can wander. Absent: not known. */
      exchangeSeconds: z.number().positive().max(86_400).optional(),
    }),
    ports: z.array(portSchema).min(3),
    /** What must not be left while a trial runs on it, besides what every trial is watched for. Absent: nothing. */
    watch: z.array(watchedLimitSchema).min(1).max(24).optional(),
    /**
     * What a second process watches over: without a sign of life from the program it sets loads to zero, and turns the
     * valve to filtered air. Absent: loads, and not the valve.
     */
    guard: z.object({ load: z.boolean(), valve: z.boolean() }).optional(),
  })
  .superRefine((rig, context) => {
    const problem = (message: string, path: PropertyKey[]): void => {
      context.addIssue({ code: 'custom', message, path });
    };
    const names = rig.instruments.map((entry) => entry.instrument);
    for (const [field, name] of [
      ['photometer', rig.photometer],
      ['selectorValve', rig.selectorValve],
      ['heartRate', rig.heartRate],
    ] as const) {
      if (name !== null && !names.includes(name)) problem(`names no instrument of this rig: ${name}`, [field]);
    }
    if (new Set(names).size !== names.length) problem('two instruments have the same name', ['instruments']);
    const numbers = rig.ports.map((port) => port.port);
    if (new Set(numbers).size !== numbers.length) problem('two ports have the same number', ['ports']);
    const probes = rig.ports.map((port) => port.probe);
    if (new Set(probes).size !== probes.length) problem('two ports have the same name', ['ports']);
    for (const role of ['reference', 'filtered-air'] as const) {
      if (rig.ports.filter((port) => port.role === role).length !== 1) {
        problem(`exactly one port must have the role ${role}`, ['ports']);
      }
    }
    const watched = rig.watch ?? [];
    watched.forEach(({ instrument, name }, index) => {
      if (!names.includes(instrument)) {
        problem(`names no instrument of this rig: ${instrument}`, ['watch', index, 'instrument']);
      }
      if (name.startsWith(planLimitPrefix)) {
        problem(`a limit of a rig is not called ${planLimitPrefix}…: plans have these names`, ['watch', index, 'name']);
      }
    });
    if (new Set(watched.map(({ name }) => name)).size !== watched.length) {
      problem('two limits have the same name', ['watch']);
    }
    rig.ports.forEach(({ breathingZone = false, role }, index) => {
      if (!breathingZone) return;
      const path = ['ports', index, 'breathingZone'];
      if (role !== 'probe') problem('only a probe can lie in the breathing zone', path);
      if (breathingInstruments(rig).length !== 1) {
        problem('needs exactly one instrument of the kind breathing in the rig, which gives the flow of breath', path);
      }
    });
    if (!rig.ports.some((port) => port.role === 'probe')) problem('at least one port must be a probe', ['ports']);
  });
export type Rig = z.infer<typeof rigSchema>;

/** What is guarded where the rig does not say: loads, and not the valve. */
export const usualGuard: NonNullable<Rig['guard']> = { load: true, valve: false };

/** Instruments that tell how the subject breathes. */
function breathingInstruments({ instruments }: Pick<Rig, 'instruments'>): InstrumentConfiguration[] {
  return instruments.filter(({ kind }) => kind === 'breathing');
}

/** The instrument whose flow of breath results rest on; undefined where no probe lies in the breathing zone. */
export function breathingInstrument(rig: Rig): string | undefined {
  const needed = rig.ports.some(({ breathingZone = false }) => breathingZone);
  return needed ? breathingInstruments(rig)[0]?.instrument : undefined;
}

/** The port with a role that exactly one port has. */
export function solePort(rig: Rig, role: 'reference' | 'filtered-air'): Port {
  const port = rig.ports.find((candidate) => candidate.role === role);
  if (port === undefined) throw new RangeError(`the rig has no port with the role ${role}`);
  return port;
}

/** The probe ports in the order of the rig. */
export function probePorts(rig: Rig): Port[] {
  return rig.ports.filter((port) => port.role === 'probe');
}
