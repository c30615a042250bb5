import type { Port, Rig } from '../model/rig.ts';
import { plugTransitSeconds, reynoldsNumber, tubeMillilitres } from './sampling-line.ts';

/** Round tubes: laminar below 2000, turbulent above 4000; in between it can be either. */
const leastUnsureReynolds = 2000;
const leastTurbulentReynolds = 4000;
/**
 * First front of a step, as a share of the plug transit. Laminar: the middle moves at twice the mean speed. Turbulent:
 * at about 1.25 times (power law of one seventh: mean over middle 49/60), from memory.
 */
const frontShares = { laminar: 0.5, unsure: 0.5, turbulent: 0.8 } as const;
/** What probe, fittings and the passage of the valve may hold beside the tube, mL. Our own figure, no source. */
const fittingsMillilitres = 5;
/**
 * Beyond this multiple a stated transit is not that of the line. A bore that is taken for the next common one (4 mm for
 * 6 mm) makes 2.25 of it, and a flow that is 30 % off stays within it. Our own figure, no source.
 */
const mostMultiple = 3;
/** Standard uncertainties of the stated transit that are allowed for. */
const allowedUncertainties = 2;

export type LineFlow = keyof typeof frontShares;

/** How the transit that a rig states stands with the tube that it states. */
export type TransitStanding = 'agrees' | 'too-short' | 'too-long';

/** A sampling line as a tube through which the rig's flow goes. */
export interface LineGeometry {
  readonly millilitres: number;
  /** Volume over flow: the mean time through the line, whatever its profile. */
  readonly plugSeconds: number;
  /** Before this no air has come through. */
  readonly frontSeconds: number;
  /** Later than this it does not come through this line. */
  readonly latestSeconds: number;
  readonly reynolds: number;
  readonly flow: LineFlow;
  readonly standing: TransitStanding;
}

/**
 * The line of a port by its length, bore and flow, with whether the stated transit can be that of such a line.
 * Says nothing of a port that is spare or whose length, bore or flow is not stated.
 *
 * Where a diluter stands in the line is not part of a rig, so both ends are allowed for: at the probe the whole flow
 * goes through the line, at the valve only what is left of it by the dilution.
 */
export function lineGeometry(rig: Pick<Rig, 'lineLitresPerMinute'>, port: Port): LineGeometry | null {
  const { boreMillimetres: bore, lineMetres: metres, role, transitSeconds: transit } = port;
  const litresPerMinute = rig.lineLitresPerMinute;
  if (role === 'spare' || bore === undefined || metres === undefined || litresPerMinute === undefined) return null;
  const millilitres = tubeMillilitres(metres, bore);
  const plugSeconds = plugTransitSeconds(metres, bore, litresPerMinute);
  const dilution = Math.max(1, port.dilution.value);
  const reynolds = reynoldsNumber(bore, litresPerMinute);
  const flow = flowOf(reynolds);
  // The fastest of either end: with the whole flow, and with what the dilution leaves of it.
  const thinned = dilution * plugSeconds * frontShares[flowOf(reynolds / dilution)];
  const frontSeconds = Math.min(frontShares[flow] * plugSeconds, thinned);
  const latestSeconds = mostMultiple * dilution * plugSeconds * (1 + fittingsMillilitres / millilitres);
  const doubt = allowedUncertainties * transit.standardUncertainty;
  let standing: TransitStanding = 'agrees';
  if (transit.value + doubt < frontSeconds) standing = 'too-short';
  else if (transit.value - doubt > latestSeconds) standing = 'too-long';
  return {
    ...{ millilitres, plugSeconds, frontSeconds, latestSeconds },
    ...{ reynolds, flow, standing },
  };
}

function flowOf(reynolds: number): LineFlow {
  if (reynolds < leastUnsureReynolds) return 'laminar';
  return reynolds > leastTurbulentReynolds ? 'turbulent' : 'unsure';
}
