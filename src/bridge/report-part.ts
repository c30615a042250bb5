import { z } from 'zod';

/** What a report can be made as. */
export const reportFormatSchema = z.enum(['pdf', 'html']);
export type ReportFormat = z.infer<typeof reportFormatSchema>;

/** What the host is at while it makes a report, in order; `walking`: the chains of all trials, for one of a study. */
export const reportStepSchema = z.enum(['walking', 'reading', 'composing', 'setting']);
export type ReportStep = z.infer<typeof reportStepSchema>;

/**
 * A report on its way to a window: what is being done, then what the file is called and how long it is, then its bytes
 * in pieces. Text, as everything on the control channel; each piece is short enough to let others pass.
 */
export const reportPartSchema = z.discriminatedUnion('part', [
  /** `share` of the step that is done, from 0 to 1; absent where it is not known. */
  z.object({ part: z.literal('step'), step: reportStepSchema, share: z.number().optional() }),
  z.object({ part: z.literal('file'), name: z.string(), bytes: z.number().int().nonnegative() }),
  z.object({ part: z.literal('piece'), base64: z.string() }),
]);
export type ReportPart = z.infer<typeof reportPartSchema>;

/** Bytes of a piece: a multiple of three, so that pieces are whole in base64. */
export const reportPieceBytes = 48 * 1024;
