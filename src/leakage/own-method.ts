import { z } from 'zod';
import { ChambersideError } from '../model/error-code.ts';
import { slugSchema } from '../model/identity.ts';
import { methodSchema } from '../model/method.ts';
import type { Method } from '../model/method.ts';
import { shippedMethods } from './methods.ts';

const seconds = (most: number) => z.number().positive().max(most);
const share = z.number().positive().max(100);

/** A method as somebody writes it: nothing unknown in it, and every number in the range in which it means something. */
const ownMethodSchema = methodSchema
  .extend({
    name: slugSchema,
    version: z.number().int().positive().max(1_000_000),
    settling: z.discriminatedUnion('rule', [
      z.strictObject({ rule: z.literal('fixed'), seconds: seconds(600) }),
      z.strictObject({ rule: z.literal('adaptive'), seconds: seconds(600), windowSeconds: seconds(600) }),
    ]),
    zeroSettlingSeconds: seconds(600),
    lagEndSeconds: seconds(10),
    guardDispersions: z.number().nonnegative().max(20),
    carryOverPercent: share,
    detectionFactor: z.number().min(1).max(20),
    challengeChangePercent: share,
    zeroChangePercent: share,
    zeroStepDeviations: z.number().min(2).max(100).optional(),
    spanChangePercent: share,
  })
  .strict();

/**
 * A method of somebody's own, from data of unknown origin. Its name is none of those that come with the program: two
 * methods of one name would look like one in a report.
 * @param where the file that gave it, for the message.
 * @throws ChambersideError `configuration-invalid` that lists every field that is wrong.
 */
export function parseMethod(data: unknown, where: string): Method {
  const result = ownMethodSchema.safeParse(data);
  if (!result.success) {
    const lines = result.error.issues.map(
      ({ message, path }) => `${path.map(String).join('.') || 'method'}: ${message}`,
    );
    throw invalid(`The method does not satisfy its schema: ${lines.join('; ')}`, where, 'Correct the named fields');
  }
  const method = result.data;
  if (shippedMethods.some(({ name }) => name === method.name)) {
    throw invalid(`name: a method that comes with the program is called ${method.name}`, where, 'Give it another name');
  }
  return method;
}

function invalid(what: string, where: string, remedy: string): ChambersideError {
  return new ChambersideError('configuration-invalid', what, where, `${remedy}; docs/guides/methods.md has them all.`);
}
