import { shippedMethods } from '../../leakage/methods.ts';
import type { Method } from '../../model/method.ts';
import { textOf } from '../../report/document.ts';
import { methodSteps } from '../../report/method-section.ts';
import { chosenMethod, methodOptions } from './chosen-method.ts';
import type { Command } from './command.ts';

export const methodsCommand: Command = {
  name: 'methods',
  summary: 'say in words how a method turns readings into leakage, or check one of your own',
  options: methodOptions,
  notes: [
    'Without an option every method that comes with the program is said. With --json methods are printed as data;',
    'one chosen by --method is a file to begin one of your own with: change its name, and what you want otherwise.',
    'docs/guides/methods.md has every field. `assess --method-file` takes what this command accepts.',
  ],
  run(values, output) {
    const chosen = chosenMethod(values);
    if (values.json) {
      output.line(chosen === null ? JSON.stringify(shippedMethods) : JSON.stringify(chosen, null, 2));
      return Promise.resolve(0);
    }
    for (const [index, method] of (chosen === null ? shippedMethods : [chosen]).entries()) {
      if (index > 0) output.line('');
      for (const line of inWords(method)) output.line(line);
    }
    return Promise.resolve(0);
  },
};

function inWords(method: Method): string[] {
  return [
    `${method.name} version ${method.version}`,
    ...methodSteps(method).map((step) => `- ${textOf(step).replaceAll('\u00a0', ' ')}`),
  ];
}
