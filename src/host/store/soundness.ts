import { verify } from './verify.ts';

/**
 * What keeps a trial from being what was recorded, in a sentence or two; null when nothing does. Walks its whole chain.
 * @throws ChambersideError those of opening a file.
 */
export function whatIsAltered(path: string, trial: string): string | null {
  const findings = verify(path, trial).findings.filter(
    (finding) => finding.severity === 'bad' && (finding.trial === null || finding.trial === trial),
  );
  // What is said of this trial says more than what is said of the study.
  const first = findings.find((finding) => finding.trial === trial) ?? findings[0];
  if (first === undefined) return null;
  return findings.length === 1 ? first.text : `${first.text} And ${findings.length - 1} more findings.`;
}

/** Where all of it is said. */
export function verifyCommand(path: string): string {
  return `See all: npx --no-install chamberside verify --study ${path}`;
}
