/**
 * Every way in which the program can refuse, as a code that tests and callers may rely on. The wording of a
 * message is free to change; the code is not.
 */
export const errorCodes = {
  // wrong use
  'usage-unknown-command': 'The command does not exist.',
  'usage-unknown-option': 'An option does not exist or lacks its value.',
  'usage-bad-value': 'A value does not have the expected form.',
  // configuration
  'configuration-invalid': 'A rig, series, scenario or method does not satisfy its schema.',
  'driver-unknown': 'No registered driver has this kind and dialect.',
  'schedule-impossible': 'The series cannot be compiled into a schedule.',
  // connections
  'port-not-found': 'The named port does not exist.',
  'port-ambiguous': 'What is remembered of an instrument does not tell one port.',
  'port-busy': 'Another program holds the port.',
  'port-failed': 'The port could not be opened or broke while in use.',
  'transport-closed': 'The connection was closed while something waited on it.',
  'request-timed-out': 'An instrument did not answer in time.',
  'request-cancelled': 'The request was withdrawn before its answer came.',
  'request-refused': 'The instrument answered that it will not do this.',
  'answer-unexpected': 'The instrument answered something else than was asked.',
  'position-unconfirmed': 'The instrument was told, and nothing can say whether it did.',
  // records
  'file-not-found': 'The file does not exist.',
  'file-not-ours': 'The file is not a file of this program.',
  'file-unreadable': 'The file may not be read.',
  'file-newer': 'The file was written by a newer version of this program.',
  'import-invalid': 'What is to be taken in is not what its description says.',
  'trial-exists': 'The study holds this trial already.',
  'file-damaged': 'The file cannot be read to its end.',
  'file-exists': 'The file exists already and would be overwritten.',
  'file-on-network': 'The file lies on a network path, where recording is refused.',
  'study-in-use': 'Another program is recording into this study.',
  'folder-unusable': 'The folder of a host cannot be made or written.',
  'folder-in-use': 'Another host works in this folder.',
  'trial-not-found': 'The study holds no such trial.',
  'assessment-not-found': 'The trial has no such assessment.',
  'cell-not-found': 'The trial has no cell for this exercise and probe.',
  'check-not-found': 'The laboratory holds no such check.',
  'instrument-not-found': 'The laboratory has no such instrument.',
  'instrument-exists': 'The laboratory has this instrument already.',
  'certificate-not-found': 'The register holds no such certificate.',
  'trial-sealed': 'The trial is sealed; nothing can be added or changed.',
  'trial-not-finished': 'The trial is not closed yet.',
  'action-refused': 'This cannot be done now.',
  'commit-failed': 'The record could not be written to disk.',
  'disk-full': 'The disk is full.',
  // people
  'person-missing': 'Nobody has said that they are at the rig.',
  'person-not-found': 'No such person is registered.',
  'person-exists': 'A person with this code is registered already.',
  'pin-wrong': 'The PIN does not match.',
  'role-missing': 'The person has not the role that this takes.',
  // signing
  'key-not-found': 'The laboratory has no key to sign with.',
  'key-unusable': 'A key is not one, or others can read what only its owner may.',
  // assessment
  'record-insufficient': 'The trial does not hold what the method needs.',
  'outside-validity': 'A formula was asked beyond the range in which it holds.',
  // guard
  'guard-failed': 'The guard of the loads did not start, or has gone.',
  // virtual rig
  'rig-process-failed': 'The virtual rig process did not start or ended early.',
  internal: 'A defect in this program.',
} as const;

export type ErrorCode = keyof typeof errorCodes;

/** An error that says what is wrong, where, and what to do. Never thrown for bad bytes: those are problems. */
export class ChambersideError extends Error {
  readonly code: ErrorCode;
  /** What is wrong, without where and what to do. */
  readonly what: string;
  /** Port, file, command or field concerned. */
  readonly where: string;
  /** What the reader can do about it. */
  readonly remedy: string;

  constructor(code: ErrorCode, what: string, where: string, remedy: string, cause?: unknown) {
    super(`${what} (${where}). ${remedy}`, cause === undefined ? undefined : { cause });
    this.name = 'ChambersideError';
    this.code = code;
    this.what = what;
    this.where = where;
    this.remedy = remedy;
  }
}

/** Narrowing guard: is this one of ours, and of this code (any code when none is given)? */
export function isChambersideError(error: unknown, code?: ErrorCode): error is ChambersideError {
  return error instanceof ChambersideError && (code === undefined || error.code === code);
}
