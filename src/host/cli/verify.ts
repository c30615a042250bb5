import type { SignatureKey } from '../../model/signature.ts';
import type { VerifiedRelease, VerifyReport } from '../store/contract.ts';
import { readPublicKey } from '../store/signing-key.ts';
import { verify } from '../store/verify.ts';
import type { Command, Output } from './command.ts';
import { notProven } from './not-proven.ts';

export const verifyCommand: Command = {
  name: 'verify',
  summary: 'check that a study file is what was recorded, and by whose key it was released',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'laboratory-key', value: 'FILE', help: 'public key of the laboratory, PEM: are releases signed by it?' },
  ],
  notes: [
    'Reads everything and changes nothing: works on a read-only copy, and without the private key.',
    'Exit status 0: intact. 1: something is missing or altered, and it says what. With --laboratory-key also 1 where',
    'no release of a real trial that is not void stands, or one that stands is not signed by this key.',
  ],
  run(values, output) {
    const keyFile = values.optional('laboratory-key');
    const key = keyFile === undefined ? null : readPublicKey(keyFile);
    const report = verify(values.text('study'));
    const told = report.releases.map((release) => ({ ...release, signedBy: signedBy(release, key) }));
    // What is void is no result, and a rehearsal is none either.
    const standing = told.filter(({ rehearsal, stands, voided }) => stands && voided === null && !rehearsal);
    const without = report.trials.filter(
      ({ sealed, trial }) => sealed && !standing.some((release) => release.trial === trial),
    );
    const byKey = key === null || (standing.length > 0 && standing.every((one) => one.signedBy === 'this-key'));
    if (values.json) {
      const laboratoryKey = key === null ? null : { fingerprint: key.fingerprint, byKey };
      output.line(JSON.stringify({ ...report, releases: told, laboratoryKey }));
    } else {
      tellTrials(report, output);
      for (const one of told) {
        output.line(`release ${one.number} of ${one.trial} by ${one.person}, ${releaseText(one)}`);
      }
      output.line(report.intact ? 'Intact.' : 'NOT INTACT.');
      if (key !== null) {
        const answer = byKey ? 'Every release that stands is signed by this key' : 'NOT SIGNED BY THIS KEY';
        const none = standing.length === 0 ? ': no release stands' : '';
        output.line(`${answer}${none}. Fingerprint: ${key.fingerprint}`);
        for (const { trial } of without) output.line(`no release of ${trial} stands: its result is by no key`);
      }
      if (report.sealHead !== null) output.line(`Head of the seals: ${report.sealHead}`);
      if (report.signatureHead !== null) output.line(`Head of the signatures: ${report.signatureHead}`);
      output.line('Not covered:');
      for (const text of report.notCovered) output.line(`  ${text}`);
      if (told.length > 0) for (const text of notProven) output.line(`  ${text}`);
    }
    return Promise.resolve(report.intact && byKey ? 0 : 1);
  },
};

function tellTrials(report: VerifyReport, output: Output): void {
  const sealsMissing = report.findings.filter(({ code }) => code === 'seal-missing');
  const withoutSeal = new Set(sealsMissing.map(({ trial }) => trial));
  for (const trial of report.trials) {
    const sealed = trial.sealed ? 'sealed' : withoutSeal.has(trial.trial) ? 'SEAL REMOVED' : 'not sealed';
    output.line(`trial ${trial.trial}  ${sealed}  ${trial.links} links  head ${trial.head}`);
  }
  for (const finding of report.findings) {
    output.line(`${finding.severity === 'bad' ? 'BAD ' : 'note'}  ${finding.text}`);
  }
}

/** `unasked`: no key was given to hold it against. */
type SignedBy = 'this-key' | 'another-key' | 'no-key' | 'broken' | 'unasked';

function signedBy({ fingerprint, holds }: VerifiedRelease, key: SignatureKey | null): SignedBy {
  if (fingerprint === null || holds === null) return 'no-key';
  if (!holds) return 'broken';
  if (key === null) return 'unasked';
  return key.fingerprint === fingerprint ? 'this-key' : 'another-key';
}

function releaseText(release: VerifiedRelease & { readonly signedBy: SignedBy }): string {
  const { fingerprint, rehearsal, signedBy: by, stands, voided } = release;
  const words: Record<SignedBy, string> = {
    'this-key': 'signed by this key',
    'another-key': `SIGNED BY ANOTHER KEY, ${fingerprint ?? ''}`,
    'no-key': rehearsal ? 'a rehearsal, signed by no key' : 'SIGNED BY NO KEY',
    broken: 'THE KEY THAT IT NAMES DID NOT SIGN IT',
    unasked: `signed by the key ${fingerprint ?? ''}`,
  };
  const since = voided === null ? '' : `; THE TRIAL IS ${voided.toUpperCase()}`;
  return `${words[by]}${stands ? '' : '; taken back or followed by another'}${since}`;
}
