import { parseDecimal } from '../framing/decimal.ts';
import type { SetLineSettings } from '../framing/set-line.ts';
import { compileTemplate } from '../framing/template.ts';

/**
 * How an instrument answers lines that set a value: it sets 0 to `highest` and says the value again, refuses others,
 * and does not know other lines.
 * @param unit for the words of a refusal.
 */
export function answerSetLine(
  settings: SetLineSettings & { readonly decimalMark: '.' | ',' },
  { highest, set, unit }: { readonly highest: number; readonly set: (value: number) => void; readonly unit: string },
): (line: string) => string | undefined {
  const command = compileTemplate(settings.command, ['value']);
  const acknowledge = compileTemplate(settings.acknowledge, ['value', 'any']);
  const refusal = compileTemplate(settings.refusal, ['any']);
  return (line) => {
    const text = command.match(line)?.['value']?.text;
    const value = text === undefined ? undefined : parseDecimal(text, settings.decimalMark);
    if (text === undefined || value === undefined) return undefined;
    if (value < 0 || value > highest) return refusal.format({ any: `${text} ${unit}` });
    set(value);
    return acknowledge.format({ value: text });
  };
}
