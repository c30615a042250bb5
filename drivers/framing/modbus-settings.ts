import { z } from 'zod';

/** Settings of every conversation over Modbus RTU. */
export const modbusSettingsShape = {
  /** Of the instrument on its line, 1 (default) to 247. */
  address: z.number().int().min(1).max(247).default(1),
  /** For one answer, from the request, s, 0.05 to 10. Default 0.5. */
  timeoutSeconds: z.number().min(0.05).max(10).default(0.5),
  /**
   * How long the line is left alone between an answer and the next request, ms, 0 to 100. Default 5: the 3.5
   * characters that the standard asks for are 4.01 ms at 9600 baud with 11 bits each; 2400 baud need 17.
   */
  restMilliseconds: z.number().min(0).max(100).default(5),
  /**
   * Bytes that are no frame are set aside when nothing came for so long, ms, 2 to 1000. Default 40: adapters hand over
   * what they have every 16 ms at the worst.
   */
  silenceMilliseconds: z.number().min(2).max(1000).default(40),
} as const;

export const modbusSettingsSchema = z.strictObject(modbusSettingsShape);
export type ModbusSettings = z.output<typeof modbusSettingsSchema>;
