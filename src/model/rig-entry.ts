import { z } from 'zod';
import { instrumentSchema, portSchema, rigSchema } from './rig.ts';
import type { Rig } from './rig.ts';
import { watchedLimitSchema } from './watched-limit.ts';

/**
 * A rig as it is given: typed into a form, written into a file, handed to the laboratory. Refuses what `rigSchema`
 * reads: members that nobody knows, and numbers that no laboratory has. What is frozen into a trial is read with
 * `rigSchema`, which must go on reading everything that was ever accepted.
 */

/** A stated value with ends; its standard uncertainty is at most the higher one. */
const statedBetween = (least: number, most: number) =>
  z.strictObject({ value: z.number().min(least).max(most), standardUncertainty: z.number().min(0).max(most) });

/** As `statedBetween`, above zero. */
const statedAbove = (most: number) =>
  z.strictObject({ value: z.number().positive().max(most), standardUncertainty: z.number().min(0).max(most) });

/** Longest time that air or a valve may take on its way, and longest time constant, s. */
const longestWaySeconds = 120;
/** Highest reading, in any unit of concentration. */
const highestReading = 1e9;
/** Longest line, m, and its bores, mm: beyond them a length was most likely written in another unit. */
const longestLineMetres = 100;
const leastBoreMillimetres = 0.5;
const mostBoreMillimetres = 50;
/** Most flow through a line, L/min. */
const mostLineLitresPerMinute = 1000;
const inThousands = (value: number, power: 1 | -1): string => String(Number((value * 1000 ** power).toPrecision(6)));
const lineMetres = z
  .number()
  .positive()
  .refine((metres) => metres <= longestLineMetres, {
    error: ({ input }) =>
      `this is in metres, at most ${longestLineMetres}: ${String(input)} mm are ${inThousands(Number(input), -1)} m`,
  });
const boreMillimetres = z
  .number()
  .positive()
  .refine((bore) => bore <= 0 || (bore >= leastBoreMillimetres && bore <= mostBoreMillimetres), {
    error: ({ input }) =>
      `this is in millimetres, ${leastBoreMillimetres} to ${mostBoreMillimetres}` +
      (Number(input) < leastBoreMillimetres ? `: ${String(input)} m are ${inThousands(Number(input), 1)} mm` : ''),
  });
const way = z.number().min(0).max(longestWaySeconds);
const text = z.string().min(1).max(200);

/** The part of an instrument in the rig, and the kind that can play it. */
const roleKinds = [
  ['photometer', 'photometer'],
  ['selectorValve', 'selector-valve'],
  ['heartRate', 'heart-rate'],
] as const;

export const rigEntrySchema: z.ZodType<Rig, Rig> = rigSchema
  .safeExtend({
    name: text,
    instruments: z.array(instrumentSchema.strict()).min(2).max(32),
    timeConstantSeconds: statedBetween(0, longestWaySeconds),
    instrumentDelaySeconds: statedBetween(0, longestWaySeconds),
    commonTransitSeconds: statedBetween(0, longestWaySeconds),
    commonDispersionSeconds: way,
    valveSwitchingSeconds: way,
    lineLitresPerMinute: z.number().positive().max(mostLineLitresPerMinute).optional(),
    spatialFactor: statedAbove(10),
    saturation: z.number().positive().max(highestReading),
    challenge: rigSchema.shape.challenge.safeExtend({
      agent: text,
      nominal: z.number().positive().max(highestReading),
    }).strict(),
    ports: z
      .array(
        portSchema
          .safeExtend({
            label: text,
            transitSeconds: statedBetween(0, longestWaySeconds),
            // What leaves a diluter is never more than what entered it, and no line adds aerosol.
            dilution: statedBetween(1, 1e6),
            penetration: statedAbove(1),
            lineMetres: lineMetres.optional(),
            boreMillimetres: boreMillimetres.optional(),
          })
          .strict(),
      )
      .min(3)
      .max(32),
    watch: z.array(watchedLimitSchema.strict()).min(1).max(24).optional(),
    guard: z.strictObject({ load: z.boolean(), valve: z.boolean() }).optional(),
  })
  .strict()
  .superRefine((rig, context) => {
    for (const [role, kind] of roleKinds) {
      const found = rig.instruments.find(({ instrument }) => instrument === rig[role]);
      if (found === undefined || found.kind === kind) continue;
      const message = `names ${found.instrument}, whose kind is ${found.kind}; it must be ${kind}`;
      context.addIssue({ code: 'custom', message, path: [role] });
    }
  });
