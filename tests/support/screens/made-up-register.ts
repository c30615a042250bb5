import type { InstrumentHistory, RegisterView } from '../../../src/bridge/register.ts';
import type { RegisterEntry, RegisterRecord } from '../../../src/calibration/register/record.ts';
import { foldRegister } from '../../../src/calibration/register/register.ts';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import { ChambersideError } from '../../../src/model/error-code.ts';
import type { Certificate, CertifiedQuantity, RegisteredKind } from '../../../src/model/certificate.ts';
import type { CheckKind } from '../../../src/calibration/check/vocabulary.ts';
import type { HostProcedures } from '../../../src/host/door/served-host.ts';
import { madeUpChecks, ownRig } from './made-up.ts';
import type { Scene } from './scenes.ts';

const dayMilliseconds = 86_400_000;
const daysFromNow = (days: number): string => new Date(Date.now() + days * dayMilliseconds).toISOString();
const day = (days: number): string => daysFromNow(days).slice(0, 10);

function instrument(code: string, kind: RegisteredKind, model: string, serial: string): RegisterEntry {
  return { entry: 'instrument', instrument: code, kind, maker: 'As on its plate', model, serial };
}

function certificate(
  code: string,
  number: string,
  quantity: CertifiedQuantity,
  [issued, until]: readonly [number, number],
  stated: Partial<Certificate> = {},
): RegisterEntry {
  const about = { number, issuer: 'Accredited laboratory 0417', quantity, unit: '1', value: 1.004 };
  const doubt = { expandedUncertainty: 0.02, coverageFactor: 2, coveragePercent: 95.45 };
  const days = { issuedOn: day(issued), validUntil: day(until) };
  return { entry: 'certificate', instrument: code, certificate: { ...about, ...doubt, ...days, ...stated } };
}

const at = (code: string, name: string): RegisterEntry => ({
  ...{ entry: 'placed', instrument: code, rig: ownRig.name },
  at: { place: name === 'hood' ? 'port' : 'instrument', name },
});

/** A register with one certificate for each way in which it can stand. */
function entries(): RegisterEntry[] {
  return [
    instrument('PH-1', 'photometer', 'Forward light scatter, 0.001 to 200 mg/m³', '4021'),
    at('PH-1', 'photometer'),
    certificate('PH-1', 'C-17', 'linearity', [-730, -366]),
    certificate('PH-1', 'C-88', 'linearity', [-371, -6]),
    certificate('PH-1', 'C-89', 'scale', [-371, -6], { value: 0.973, expandedUncertainty: 0.05, coverageFactor: 2.13 }),
    instrument('DIL-HOOD', 'diluter', 'Loop diluter, ten to one', '77-b'),
    at('DIL-HOOD', 'hood'),
    certificate('DIL-HOOD', 'K 2026/113', 'dilution', [-344, 21], { value: 10.12, expandedUncertainty: 0.31 }),
    instrument('CL-2', 'climate', 'Humidity and temperature', 'HT 118'),
    certificate('CL-2', 'H-5', 'humidity', [-30, 335], { unit: '%', value: -1.2, expandedUncertainty: 1.5 }),
    certificate('CL-2', 'H-4', 'temperature', [-31, 334], { unit: '°C', value: 0.1, expandedUncertainty: 0.2 }),
    { entry: 'withdrawn', instrument: 'CL-2', record: 11, reason: 'belongs to the other sensor' },
    instrument('CH-N', 'chamber', 'North room, 18 m³', 'none'),
    instrument('V-1', 'selector-valve', 'Eight ways, with read-back', '0031'),
    instrument('PH-0', 'photometer', 'The one before', '2210'),
    { entry: 'retired', instrument: 'PH-0', reason: 'lamp no longer made' },
  ];
}

function records(of: readonly RegisterEntry[]): RegisterRecord[] {
  return of.map((entry, index) => ({ number: index + 1, at: daysFromNow(-380 + 20 * index), person: 'AM', entry }));
}

/** Results of a check, a week apart, that wander towards a limit. */
function course(check: CheckKind, share: readonly number[]): InstrumentHistory['courses'][number] | null {
  const like: Snapshot['rig']['checks']['results'][number] | undefined = madeUpChecks.find(
    ({ result }) => result.check === check,
  );
  if (like === undefined) return null;
  const results = share.map((factor, age) => {
    const madeAtMilliseconds = Date.now() - (age * 7 + 0.2) * dayMilliseconds;
    const figures = like.result.figures.map((one) => {
      const value = one.value === null ? null : one.value * factor;
      return { ...one, value, passed: value !== null && (one.high === null || value <= one.high) };
    });
    const passed = figures.every((one) => one.passed);
    const time = new Date(madeAtMilliseconds).toISOString();
    const result = { ...like.result, figures, passed, at: time };
    return { number: 100 - age, version: ownRig.version, madeAtMilliseconds, result };
  });
  return { rig: ownRig.name, check, line: null, results };
}

/** Procedures of the register over a made-up one; the name of the scene says which. */
export function madeUpRegister(
  scene: () => Scene,
  done: (what: string) => Promise<unknown>,
): HostProcedures['register'] {
  const all = (): RegisterRecord[] => (scene().name === 'instruments-empty' ? [] : records(entries()));
  const isAltered = (): boolean => scene().name === 'instruments-altered';
  return {
    async view(): Promise<RegisterView> {
      const { instruments, name, ports } = ownRig;
      return {
        instruments: foldRegister(all()).map((one) => ({ ...one, certificates: [...one.certificates] })),
        altered: isAltered() ? [4, 9] : [],
        rigs: [
          {
            ...{ name, virtual: false },
            instruments: instruments.map(({ instrument: code, kind }) => ({ instrument: code, kind })),
            ports: ports.map(({ label, probe }) => ({ probe, label })),
          },
        ],
      };
    },
    async history({ instrument: code }) {
      const courses =
        code !== 'PH-1'
          ? []
          : [
              course('zero', [300, 220, 140, 90, 4, 1]),
              course('detection-limit', [3.9, 2.2, 1.4, 1.2]),
              course('linearity', [1]),
              course('response', [1.08, 1.03, 1.01, 0.99]),
            ].filter((one) => one !== null);
      const own = all().filter(({ entry }) => entry.instrument === code);
      return { records: own, courses, unreadable: isAltered() ? [31] : [] };
    },
    async add({ entry, person, pin }) {
      if (pin !== '4711') throw new ChambersideError('pin-wrong', 'The PIN does not match', person, 'Try again.');
      await done(`register.add ${JSON.stringify(entry)} ${person}`);
      return { record: 99 };
    },
  };
}
