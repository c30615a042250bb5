import type { CheckChoice } from '../../bridge/checks.ts';
import type { RigDifferenceAsk, RigVersion } from '../../bridge/contract.ts';
import type { InstrumentHistory } from '../../bridge/register.ts';
import type { ConnectionSettings, PersonView } from '../../bridge/snapshot.ts';
import { supportingChecks } from '../../calibration/check/standing.ts';
import type { KeptCheck } from '../../calibration/check/standing.ts';
import { supportingCertificates } from '../../calibration/register/register.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { RigChange } from '../../model/rig-difference.ts';
import type { Rig } from '../../model/rig.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import type { Computer } from '../compute/computer.ts';
import type { ChangedLaboratory, LaboratoryChange, LaboratoryContent } from '../compute/laboratory-job.ts';
import type { RegisterContent } from '../compute/register-job.ts';
import type { Person } from '../store/laboratory.ts';
import type { CheckGround, KnownCheck } from '../store/laboratory-checks.ts';

/** What is frozen with a trial of how its rig was looked after; `certificates` absent: nothing of it is registered. */
export type TrialSupports = Pick<TrialHeader, 'checks' | 'certificates'>;

/** What the laboratory file held when it was last looked at, and every change of it. */
export interface LaboratoryDesk {
  readonly content: LaboratoryContent;
  readonly people: readonly PersonView[];
  /** @throws ChambersideError as the laboratory refuses. */
  change(change: LaboratoryChange): Promise<ChangedLaboratory>;
  /** Reads the file again: others may have registered people. */
  refresh(): Promise<void>;
  /** Newest version. @throws ChambersideError `configuration-invalid` when there is none. */
  rig(name: string): Rig;
  settingsOf(rig: string, instrument: string): ConnectionSettings | null;
  /** Newest of each check and port of a rig, whatever its version. */
  checksOf(rig: Rig): KeptCheck[];
  /** What a trial on this rig rests on from now. */
  supports(rig: Rig): TrialSupports;
  checkHistory(rig: Rig, choice: CheckChoice): Promise<KeptCheck[]>;
  /** @throws ChambersideError as `LaboratoryChecks.ground`. */
  checkGround(number: number): Promise<CheckGround | null>;
  /** The register as the file holds it now; what others have put down counts from then on. */
  register(): Promise<RegisterContent>;
  rigVersions(name: string): Promise<RigVersion[]>;
  /** @throws ChambersideError as `differenceOfVersions`. */
  rigDifference(asked: RigDifferenceAsk): Promise<RigChange[]>;
  /** @throws ChambersideError `instrument-not-found`. */
  instrumentHistory(instrument: string): Promise<InstrumentHistory>;
}

/** @throws ChambersideError when the file cannot be opened. */
export async function openLaboratoryDesk(options: {
  readonly path: string;
  readonly files: Computer;
  readonly wallNow: () => Date;
  readonly onChange: () => void;
}): Promise<LaboratoryDesk> {
  const { path } = options;
  const ask = (change: LaboratoryChange | null): Promise<ChangedLaboratory> =>
    options.files.do('laboratory', { path, change, now: options.wallNow().toISOString() });
  let content: LaboratoryContent = await ask(null);
  return {
    get content() {
      return content;
    },
    get people() {
      return content.people.map(personView);
    },
    async change(change) {
      const changed = await ask(change);
      content = changed;
      options.onChange();
      return changed;
    },
    async refresh() {
      content = await ask(null);
      options.onChange();
    },
    rig(name) {
      const found = content.rigs.find((rig) => rig.name === name);
      if (found !== undefined) return found;
      throw new ChambersideError(
        'configuration-invalid',
        `the laboratory has no rig ${name}`,
        'laboratory',
        'Save one under this name, or open another.',
      );
    },
    settingsOf: (rig, instrument) =>
      content.connections.find((known) => known.rig === rig && known.instrument === instrument)?.settings ?? null,
    checksOf: (rig) => content.checks.filter(isOf(rig)).map(keptCheck),
    supports(rig) {
      const now = options.wallNow().getTime();
      const checks = supportingChecks(rig, content.checks.filter(isOf(rig)).map(keptCheck), now);
      const certificates = supportingCertificates(rig.name, content.register, now);
      return { checks, ...(certificates.length === 0 ? {} : { certificates }) };
    },
    async checkHistory(rig, choice) {
      const now = options.wallNow().toISOString();
      return (await options.files.do('check-history', { path, rig: rig.name, choice, now })).map(keptCheck);
    },
    checkGround: (number) =>
      options.files.do('check-ground', { path, number, now: options.wallNow().toISOString() }),
    async register() {
      const read = await options.files.do('register', { path, now: options.wallNow().toISOString() });
      content = { ...content, register: read.instruments };
      return read;
    },
    rigVersions: (name) => options.files.do('rig-versions', { path, name, now: options.wallNow().toISOString() }),
    rigDifference: (asked) =>
      options.files.do('rig-difference', { path, ...asked, now: options.wallNow().toISOString() }),
    instrumentHistory: (instrument) =>
      options.files.do('instrument-history', { path, instrument, now: options.wallNow().toISOString() }),
  };
}

function isOf(rig: Rig): (known: KnownCheck) => boolean {
  return (known) => known.rig === rig.name;
}

function personView({ person, code, name, roles }: Person): PersonView {
  return { person, code, name, roles };
}

function keptCheck({ madeAtMilliseconds, number, result, version }: KnownCheck): KeptCheck {
  return { number, version, madeAtMilliseconds, result };
}
