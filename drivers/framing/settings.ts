import { z } from 'zod';

/** What ends a line. Default line feed; a carriage return before it is ignored as a blank. */
export const terminatorSchema = z.enum(['\n', '\r', '\r\n']).default('\n');

/** Longest line without its terminator, bytes, 16 to 4096. More is set aside up to the next terminator. */
export const longestLineBytesSchema = z.number().int().min(16).max(4096).default(256);

/** One printable line of a command. */
export const commandSchema = z
  .string()
  .min(1)
  .max(200)
  .regex(/^[\u0020-\u007e]+$/, 'a command holds printable ASCII characters only');

/** A word as the instrument writes it: single-byte characters without control characters, so `µg/m³` is one. */
export const wireWordSchema = z
  .string()
  .min(1)
  .max(40)
  .regex(/^[\u0020-\u007e\u00a0-\u00ff]+$/, 'a word on the wire holds printable single-byte characters only');
