import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { lineIdentification } from '../../framing/identify.ts';
import { commandSchema, longestLineBytesSchema, terminatorSchema } from '../../framing/settings.ts';
import { compileTemplate } from '../../framing/template.ts';
import { createSelectorValveCodec, wordTokens } from './codec.ts';
import { openSelectorValve } from './driver.ts';

/** Fields that are templates, and whether they must name the port. */
const templateFields = [
  ['command', true],
  ['acknowledge', true],
  ['position', true],
  ['refusal', false],
] as const;

/** Settings of a selector valve that is told its port in a line; the defaults are our virtual valve's words. */
export const selectorValveSettingsSchema = z
  .strictObject({
    /** Asks for a port. Default `port {port}`. */
    command: commandSchema.default('port {port}'),
    /** Says that the port is reached. Default `ok port {port}`. */
    acknowledge: commandSchema.default('ok port {port}'),
    /** Asks where it stands. Default `port?`. */
    query: commandSchema.default('port?'),
    /** Answers the query. Default `at {port}`. */
    position: commandSchema.default('at {port}'),
    /** Says that it will not. Default `no {any}`. */
    refusal: commandSchema.default('no {any}'),
    terminator: terminatorSchema,
    /** Ports that the valve has, numbered from 1: 2 to 32. Default 8. */
    ports: z.number().int().min(2).max(32).default(8),
    /** For the acknowledgement, from the command, s, 0.05 to 60. Default 3. */
    acknowledgeTimeoutSeconds: z.number().min(0.05).max(60).default(3),
    /** After each acknowledgement ask where it stands, and believe only when both agree. Default false. */
    confirmByQuery: z.boolean().default(false),
    longestLineBytes: longestLineBytesSchema,
  })
  .superRefine((settings, context) => {
    for (const [field, needsPort] of templateFields) {
      try {
        const { tokens } = compileTemplate(settings[field], wordTokens);
        if (needsPort && !tokens.includes('port')) throw new RangeError('must hold {port}');
        if (field === 'command' && tokens.includes('any')) throw new RangeError('a command cannot hold {any}');
      } catch (error) {
        const message = error instanceof Error ? error.message : String(error);
        context.addIssue({ code: 'custom', message, path: [field] });
      }
    }
    if (settings.acknowledge === settings.position) {
      context.addIssue({ code: 'custom', message: 'must differ from acknowledge', path: ['position'] });
    }
  });
export type SelectorValveSettings = z.output<typeof selectorValveSettingsSchema>;

export const selectorValveCommandLines: DriverManifest<SelectorValveSettings> = {
  kind: 'selector-valve',
  dialect: 'command-lines',
  title: 'Selector valve that is told its port in a line and acknowledges it',
  serial: { baudRate: 9_600 },
  settings: selectorValveSettingsSchema,
  streams: () => [],
  identify(settings) {
    const codec = createSelectorValveCodec(settings);
    const { acknowledgeTimeoutSeconds: limitSeconds, query: question, terminator } = settings;
    const fits = (line: string): boolean => codec.decode(line)?.message === 'position';
    return lineIdentification({ terminator, question, limitSeconds, fits });
  },
  open: openSelectorValve,
};
