import { z } from 'zod';

/** Whose eyes a window is for. What the subject sees commands nothing but a stop. */
export const windowDisplaySchema = z.enum(['operator', 'subject']);
export type WindowDisplay = z.infer<typeof windowDisplaySchema>;

/** The first message on either channel of a window. */
export const helloSchema = z.object({
  message: z.literal('hello'),
  /** What the door wrote into the page. */
  secret: z.string().max(200),
  display: windowDisplaySchema.default('operator'),
});
