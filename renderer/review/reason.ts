import { longestReason } from '../../src/model/signature.ts';
import type { FieldProblem } from '../ui/field-problem.ts';

/** What keeps a reason from being kept; an empty one is only not there yet. Nothing typed or pasted is cut off. */
export function reasonProblem(reason: string): FieldProblem | undefined {
  return reason.trim().length > longestReason ? { kind: 'too-long', limit: longestReason } : undefined;
}

/** Whether it can be kept. */
export function isReason(reason: string): boolean {
  return reason.trim() !== '' && reasonProblem(reason) === undefined;
}
