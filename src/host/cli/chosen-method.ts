import { shippedMethods } from '../../leakage/methods.ts';
import { parseMethod } from '../../leakage/own-method.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Method } from '../../model/method.ts';
import type { OptionDescription, OptionValues } from './command.ts';
import { readGivenJson } from './given-json.ts';

const methodNames = shippedMethods.map(({ name }) => name);

/** Options by which a method is chosen: by name, or of somebody's own. */
export const methodOptions: readonly OptionDescription[] = [
  { name: 'method', value: 'NAME', help: `one that comes with the program: ${methodNames.join('; ')}` },
  { name: 'method-file', value: 'FILE', help: 'a method of your own instead, as JSON' },
];

/** True where a method was asked for by either option. */
export function choosesMethod(values: OptionValues): boolean {
  return methodOptions.some(({ name }) => values.has(name));
}

/**
 * The method that was asked for; null where none was.
 * @throws ChambersideError `usage-bad-value` for an unknown name; `usage-unknown-option` for both options at once;
 * `file-not-found`, `file-not-ours`, `configuration-invalid` for a file.
 */
export function chosenMethod(values: OptionValues): Method | null {
  const file = values.optional('method-file');
  if (file !== undefined && values.has('method')) {
    const what = '--method and --method-file are two methods';
    throw new ChambersideError('usage-unknown-option', what, '--method-file', 'Give one of them.');
  }
  if (file !== undefined) return parseMethod(readGivenJson(file, 'method'), file);
  if (!values.has('method')) return null;
  const wanted = values.oneOf('method', methodNames, '');
  return shippedMethods.find(({ name }) => name === wanted) ?? null;
}
