import { certificateName, doubtfulCertificates } from './certificate.ts';
import { doubtfulChecks } from './supporting-check.ts';
import type { TrialHeader } from './trial-event.ts';

/** Names of the checks and certificates that a trial rests on and should not, as they stood when it was prepared. */
export function doubtfulSupports({ certificates, checks }: Pick<TrialHeader, 'checks' | 'certificates'>): string[] {
  const ofChecks = doubtfulChecks(checks).map(({ name }) => name);
  return [...ofChecks, ...doubtfulCertificates(certificates).map(certificateName)];
}
