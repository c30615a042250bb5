import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { contactQuantities, contactRemarks, contactShape } from '../../framing/contact.ts';
import { identifyValueLines, valueLineLoad } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { commandSchema, wireWordSchema } from '../../framing/settings.ts';
import { compileTemplate } from '../../framing/template.ts';
import { checkValueLine, quantitiesInLine, valueLineShape } from '../../framing/value-line.ts';
import { contactLineDefaults, createContactLineCodec } from './codec.ts';
import { openContactLines } from './driver.ts';

const wordSchema = wireWordSchema.regex(/^\S+$/, 'one word without blanks');
const wordsSchema = z.array(wordSchema).min(1);

/** Settings of contacts that are told in lines; the defaults are the words of our virtual instrument. */
export const contactLineSettingsSchema = z
  .strictObject({
    ...valueLineShape(contactLineDefaults),
    ...contactShape,
    /** Words that say that a contact is closed. Default `closed`, `1`. */
    closedWords: wordsSchema.default(['closed', '1']),
    /** Words that say that it is open. Default `open`, `0`. */
    openWords: wordsSchema.default(['open', '0']),
    /** A lamp or horn that is switched by a line; null (default): there is none. */
    beacon: z
      .strictObject({
        /** Switches it. Default `beacon {value}`. */
        command: commandSchema.default('beacon {value}'),
        /** Says that it is switched. Default `ok beacon {value}`. */
        acknowledge: commandSchema.default('ok beacon {value}'),
        /** Says that it will not. Default `no {any}`. */
        refusal: commandSchema.default('no {any}'),
        /** What stands for on and off. Default `on`, `off`. */
        onWord: wordSchema.default('on'),
        offWord: wordSchema.default('off'),
        /** For the acknowledgement, from the command, s, 0.05 to 10. Default 1. */
        acknowledgeTimeoutSeconds: z.number().min(0.05).max(10).default(1),
      })
      .nullable()
      .default(null),
  })
  .superRefine((settings, context) => {
    const problem = (message: string, path: string[]): void => {
      context.addIssue({ code: 'custom', message, path });
    };
    checkValueLine(settings, context, contactQuantities);
    const both = settings.closedWords.filter((word) => settings.openWords.includes(word));
    if (both.length > 0) problem(`stands for closed as well: ${both.join(', ')}`, ['openWords']);
    const { beacon } = settings;
    if (beacon === null) return;
    if (beacon.onWord === beacon.offWord) problem('is the word for on as well', ['beacon', 'offWord']);
    for (const field of ['command', 'acknowledge', 'refusal'] as const) {
      try {
        const { tokens } = compileTemplate(beacon[field], field === 'refusal' ? ['any'] : ['value', 'any']);
        if (field !== 'refusal' && !tokens.includes('value')) throw new RangeError('must hold {value}');
        if (field === 'command' && tokens.includes('any')) throw new RangeError('a command cannot hold {any}');
      } catch (error) {
        problem(error instanceof Error ? error.message : String(error), ['beacon', field]);
      }
    }
  });
export type ContactLineSettings = z.output<typeof contactLineSettingsSchema>;

const quantitiesOf = (settings: ContactLineSettings) => quantitiesInLine(settings, contactQuantities);

export const contactLines: DriverManifest<ContactLineSettings> = {
  kind: 'contact',
  dialect: 'lines',
  title: 'Stop contacts, door and beacon, as text lines',
  serial: { baudRate: 9_600 },
  settings: contactLineSettingsSchema,
  streams: (instrument, settings) => describeQuantities(instrument, quantitiesOf(settings), settings),
  remarks: (settings) => contactRemarks(settings, quantitiesOf(settings)),
  identify: (settings) => identifyValueLines(settings, createContactLineCodec(settings)),
  wireLoad: (settings) => valueLineLoad(settings, createContactLineCodec(settings)),
  open: openContactLines,
  listening: (settings) => ({ ...settings, poll: null }),
};
