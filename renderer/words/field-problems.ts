import type { FieldProblem } from '../ui/field-problem.ts';

/** What is wrong with a field and what it wants instead. */
export function fieldProblemWords(problem: FieldProblem): string {
  switch (problem.kind) {
    case 'empty':
      return 'Needed. Fill this in.';
    case 'not-a-number':
      return 'Not a number. Write it like 1.5.';
    case 'not-a-time':
      return 'Not a time of the day. Write it like 14:05:30.';
    case 'not-whole':
      return 'Whole numbers only.';
    case 'least':
      return problem.inclusive ? `At least ${problem.limit}.` : `More than ${problem.limit}.`;
    case 'most':
      return problem.inclusive ? `At most ${problem.limit}.` : `Less than ${problem.limit}.`;
    case 'too-long':
      return `At most ${problem.limit} characters.`;
    case 'too-short':
      return `At least ${problem.limit} characters.`;
    case 'not-json':
      return `Not JSON: ${problem.detail}. Check braces, commas and quotation marks.`;
    case 'not-an-object':
      return 'Settings stand in braces: { "name": value }.';
    case 'differs':
      return 'Not the same as above. Type both again.';
    case 'taken':
      return `${problem.instrument} is connected here already. Choose another port.`;
    case 'said':
      return `${problem.text.charAt(0).toUpperCase()}${problem.text.slice(1)}.`;
  }
}
