import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { commandSchema, longestLineBytesSchema, terminatorSchema } from '../../framing/settings.ts';
import { compileTemplate } from '../../framing/template.ts';
import { relayTokens } from './codec.ts';
import { openRelayBoard } from './driver.ts';

/** Settings of a board with one relay for each port of a valve; the defaults are our virtual board's words. */
export const relayBoardSettingsSchema = z
  .strictObject({
    /** Switches a relay on. Default `relay {relay} on`. */
    on: commandSchema.default('relay {relay} on'),
    /** Switches it off. Default `relay {relay} off`. */
    off: commandSchema.default('relay {relay} off'),
    /** What the board says when it has heard; null (default): nothing. It says nothing about the valve. */
    answer: commandSchema.nullable().default(null),
    terminator: terminatorSchema,
    /** Ports that the valve has, numbered from 1: 2 to 32. Default 8. */
    ports: z.number().int().min(2).max(32).default(8),
    /** The relay of port 1; the others follow. Default 1. */
    firstRelay: z.number().int().min(0).max(100).default(1),
    longestLineBytes: longestLineBytesSchema,
  })
  .superRefine((settings, context) => {
    for (const field of ['on', 'off', 'answer'] as const) {
      const template = settings[field];
      if (template === null) continue;
      try {
        const { tokens } = compileTemplate(template, relayTokens);
        if (field !== 'answer' && !tokens.includes('relay')) throw new RangeError('must hold {relay}');
        if (field !== 'answer' && tokens.includes('any')) throw new RangeError('a command cannot hold {any}');
      } catch (error) {
        const message = error instanceof Error ? error.message : String(error);
        context.addIssue({ code: 'custom', message, path: [field] });
      }
    }
    if (settings.on === settings.off) {
      context.addIssue({ code: 'custom', message: 'must differ from on', path: ['off'] });
    }
  });
export type RelayBoardSettings = z.output<typeof relayBoardSettingsSchema>;

export const selectorValveRelayBoard: DriverManifest<RelayBoardSettings> = {
  kind: 'selector-valve',
  dialect: 'relay-board',
  title: 'Selector valve behind a board of relays; where it stands is never confirmed',
  serial: { baudRate: 9_600 },
  settings: relayBoardSettingsSchema,
  streams: () => [],
  open: openRelayBoard,
};
