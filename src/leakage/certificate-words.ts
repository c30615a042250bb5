import { certificateName } from '../model/certificate.ts';
import type { SupportingCertificate } from '../model/certificate.ts';
import { toFigures } from './explain-digits.ts';
import type { ExplainedCertificate, Explanation } from './explanation.ts';

const standingWords: Readonly<Record<SupportingCertificate['standing'], string>> = {
  valid: 'valid',
  'due-soon': 'valid, due soon',
  expired: 'EXPIRED',
  missing: 'MISSING',
};

/** How a certificate stood when the trial was prepared. */
export function certificateStanding({ standing }: SupportingCertificate): string {
  return standingWords[standing];
}

/** `0.1 = 0.2 ÷ 2`: u from U and k, with the coverage probability and degrees of freedom where they are known. */
export function certificateDoubtInWords(certificate: NonNullable<SupportingCertificate['certificate']>): string {
  const { coverageFactor, coveragePercent, degreesOfFreedom, expandedUncertainty, standardUncertainty } = certificate;
  const coverage = coveragePercent === undefined ? '' : ` (${coveragePercent} %)`;
  const freedom = degreesOfFreedom === null ? '' : `, ${toFigures(degreesOfFreedom, 3)} degrees of freedom`;
  return `u ${toFigures(standardUncertainty, 4)} = U ${expandedUncertainty} ÷ k ${coverageFactor}${coverage}${freedom}`;
}

/** `certificate C-17 of DIL-1 (dilution), valid until 2026-01-31, EXPIRED; the rig states 10`; undefined: none. */
export function inputSource({ certificates }: Explanation, input: string): string | undefined {
  const found = certificates?.find((one) => one.input === input);
  return found === undefined ? undefined : sourceInWords(found);
}

function sourceInWords(found: ExplainedCertificate): string {
  const stood = found.standing === 'valid' ? '' : `, ${certificateStanding(found)}`;
  const rig = found.rigStates === null ? '' : `; the rig states ${found.rigStates.value}`;
  return `${certificateName(found)}${stood}${rig}`;
}
