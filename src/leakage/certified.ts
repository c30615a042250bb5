import { quantityFacts } from '../model/certificate.ts';
import type { SupportingCertificate } from '../model/certificate.ts';
import type { Port, Rig, Stated } from '../model/rig.ts';
import type { BudgetLineName } from './budget/line.ts';

/** A certificate whose value an assessment computes with. */
export interface CertifiedInput {
  /** The input that it gives, as budgets name it: `dilution 5`, `linearity`. */
  readonly input: string;
  readonly line: BudgetLineName;
  readonly stated: Stated;
  /** What the rig states of it; null where a rig states nothing. */
  readonly rigStates: Stated | null;
  readonly degreesOfFreedom: number | null;
  readonly from: SupportingCertificate;
}

/** A rig as its certificates have it. */
export interface CertifiedRig {
  readonly rig: Rig;
  /** Response at the levels inside divided by that at the level of the chamber; absent: taken as linear. */
  readonly linearity?: Stated;
  readonly inputs: readonly CertifiedInput[];
}

/**
 * The rig with the values of the certificates that were frozen with a trial in place of its own. Without any the rig
 * itself, so that nothing changes. What is expired still counts, with a flag: it is the best that is known.
 */
export function certifiedRig(rig: Rig, certificates: readonly SupportingCertificate[] | undefined): CertifiedRig {
  const inputs = (certificates ?? []).flatMap((one) => inputOf(rig, one) ?? []);
  if (inputs.length === 0) return { rig, inputs };
  const valueOf = (input: string): Stated | undefined => inputs.find((one) => one.input === input)?.stated;
  const ports = rig.ports.map((port): Port => ({
    ...port,
    dilution: valueOf(`dilution ${port.port}`) ?? port.dilution,
    penetration: valueOf(`penetration ${port.port}`) ?? port.penetration,
  }));
  const linearity = valueOf('linearity');
  const spatialFactor = valueOf('spatial-factor') ?? rig.spatialFactor;
  return { rig: { ...rig, ports, spatialFactor }, inputs, ...(linearity === undefined ? {} : { linearity }) };
}

/** What a certificate gives to the leakage where it works; null where an assessment does not compute with it. */
function inputOf(rig: Rig, from: SupportingCertificate): CertifiedInput | null {
  const { at, certificate } = from;
  if (certificate === null || !quantityFacts[certificate.quantity].counts) return null;
  const { degreesOfFreedom, quantity, standardUncertainty, value } = certificate;
  const about = { stated: { value, standardUncertainty }, degreesOfFreedom, from };
  if (quantity === 'dilution' || quantity === 'penetration') {
    const port = at.place === 'port' ? rig.ports.find(({ probe }) => probe === at.name) : undefined;
    if (port === undefined) return null;
    const line = quantity === 'dilution' ? 'dilution' : 'line-loss';
    return { ...about, input: `${quantity} ${port.port}`, line, rigStates: port[quantity] };
  }
  if (quantity === 'spatial-factor') {
    if (at.place !== 'chamber') return null;
    return { ...about, input: quantity, line: quantity, rigStates: rig.spatialFactor };
  }
  if (quantity !== 'linearity' || at.place !== 'instrument' || at.name !== rig.photometer) return null;
  return { ...about, input: quantity, line: quantity, rigStates: null };
}
