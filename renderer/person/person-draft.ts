import type { NewPerson } from '../../src/bridge/contract.ts';
import { newPersonSchema } from '../../src/bridge/contract.ts';
import type { Role } from '../../src/bridge/snapshot.ts';
import { roleSchema } from '../../src/bridge/snapshot.ts';
import type { FieldProblem } from '../ui/field-problem.ts';
import { problemOfIssue } from '../ui/field-problem.ts';

/** A person on the way into the laboratory, as the form shows one. */
export interface PersonDraft {
  readonly code: string;
  readonly name: string;
  readonly roles: readonly Role[];
  readonly pin: string;
  readonly pinAgain: string;
}

export const noPerson: PersonDraft = { code: '', name: '', roles: ['operator'], pin: '', pinAgain: '' };
export const roles = roleSchema.options;

/** The person that was typed, or what is wrong by field. A PIN is taken as it is, blanks included. */
export function readPersonDraft(draft: PersonDraft): {
  readonly person: NewPerson | null;
  readonly problems: ReadonlyMap<keyof PersonDraft, FieldProblem>;
} {
  const problems = new Map<keyof PersonDraft, FieldProblem>();
  const parsed = newPersonSchema.safeParse({
    code: draft.code.trim(),
    name: draft.name.trim(),
    roles: roles.filter((role) => draft.roles.includes(role)),
    pin: draft.pin,
  });
  for (const issue of parsed.error?.issues ?? []) {
    const field = issue.path[0] as keyof NewPerson;
    if (!problems.has(field)) problems.set(field, field === 'roles' ? { kind: 'empty' } : problemOfIssue(issue));
  }
  if (!problems.has('pin') && draft.pin !== draft.pinAgain) problems.set('pinAgain', { kind: 'differs' });
  return { person: parsed.success && problems.size === 0 ? parsed.data : null, problems };
}
