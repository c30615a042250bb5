import type { Role } from '../../src/bridge/snapshot.ts';
import { roleSchema } from '../../src/bridge/snapshot.ts';
import type { FieldProblem } from '../ui/field-problem.ts';

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

export interface NewPerson {
  readonly code: string;
  readonly name: string;
  readonly roles: Role[];
  readonly pin: string;
}

const mostCode = 12;
const mostName = 80;
const leastPin = 4;
const mostPin = 64;

/** The person that was typed, or what is wrong by field. A PIN is taken as it is, blanks included. */
export function readPersonDraft(draft: PersonDraft): {
  readonly person: NewPerson | null;
  readonly problems: ReadonlyMap<keyof PersonDraft, FieldProblem>;
} {
  const problems = new Map<keyof PersonDraft, FieldProblem>();
  const code = draft.code.trim();
  const name = draft.name.trim();
  if (code === '') problems.set('code', { kind: 'empty' });
  else if (code.length > mostCode) problems.set('code', { kind: 'too-long', limit: mostCode });
  if (name === '') problems.set('name', { kind: 'empty' });
  else if (name.length > mostName) problems.set('name', { kind: 'too-long', limit: mostName });
  if (draft.roles.length === 0) problems.set('roles', { kind: 'empty' });
  if (draft.pin.length < leastPin) problems.set('pin', { kind: 'too-short', limit: leastPin });
  else if (draft.pin.length > mostPin) problems.set('pin', { kind: 'too-long', limit: mostPin });
  else if (draft.pin !== draft.pinAgain) problems.set('pinAgain', { kind: 'differs' });
  const person = { code, name, roles: roles.filter((role) => draft.roles.includes(role)), pin: draft.pin };
  return { person: problems.size === 0 ? person : null, problems };
}
