import { z } from 'zod';
import { commandSchema } from './settings.ts';
import { compileTemplate } from './template.ts';

/** Lines by which a value is set, to stand in a dialect's schema. @param word what is set: `power`. */
export const setLineShape = (word: string) => ({
  /** Sets the value. Default: the word and the value. */
  command: commandSchema.default(`${word} {value}`),
  /** Says that it is set. Default: `ok`, the word and the value. */
  acknowledge: commandSchema.default(`ok ${word} {value}`),
  /** Says that it will not. Default `no {any}`. */
  refusal: commandSchema.default('no {any}'),
  /** For the acknowledgement, from the command, s, 0.05 to 10. Default 1. */
  acknowledgeTimeoutSeconds: z.number().min(0.05).max(10).default(1),
});

/** Words of an instrument that takes lines. */
export interface SetLineSettings {
  readonly command: string;
  readonly acknowledge: string;
  readonly refusal: string;
}

/** For `superRefine`: what no field can say by itself. */
export function checkSetLine(settings: SetLineSettings, context: z.core.$RefinementCtx): void {
  for (const field of ['command', 'acknowledge', 'refusal'] as const) {
    try {
      const { tokens } = compileTemplate(settings[field], field === 'refusal' ? ['any'] : ['value', 'any']);
      if (field !== 'refusal' && !tokens.includes('value')) throw new RangeError('must hold {value}');
      if (field === 'command' && tokens.includes('any')) throw new RangeError('a command cannot hold {any}');
    } catch (error) {
      const message = error instanceof Error ? error.message : String(error);
      context.addIssue({ code: 'custom', message, path: [field] });
    }
  }
}
