import { reynoldsNumber } from './sampling-line.ts';

/**
 * Spheres in air of 20 °C and 101.3 kPa. Diameters in µm, speeds in m/s. Every function refuses what is not positive.
 */
const viscosity = 1.81e-5;
const meanFreePathMicrometres = 0.066;
const gravity = 9.81;
const boltzmann = 1.380649e-23;
const kelvin = 293.15;

export type SlipForm = 'hinds' | 'davies';

/**
 * Cunningham's slip correction. Hinds: 1 + (λ/d)(2.34 + 1.05 e^(−0.39 d/λ)), from memory; Davies:
 * 1 + (2λ/d)(1.257 + 0.4 e^(−1.1 d/2λ)), seen on a public reference page. They differ by up to 1.4 %.
 */
export function slipCorrection(micrometres: number, form: SlipForm = 'hinds'): number {
  requirePositive('the diameter', micrometres);
  const ratio = micrometres / meanFreePathMicrometres;
  return form === 'hinds'
    ? 1 + (2.34 + 1.05 * Math.exp(-0.39 * ratio)) / ratio
    : 1 + (2 * (1.257 + 0.4 * Math.exp(-0.55 * ratio))) / ratio;
}

/** Speed of settling, m/s: ρ d² g Cc/(18 µ). @param density kg/m³, 1000 for an aerodynamic diameter. */
export function settlingSpeed(micrometres: number, density = 1000, slip = slipCorrection(micrometres)): number {
  requirePositive('the density', density);
  const metres = micrometres * 1e-6;
  return (density * metres * metres * gravity * slip) / (18 * viscosity);
}

/** Diffusion coefficient, m²/s: k T Cc/(3 π µ d). */
export function diffusionCoefficient(micrometres: number): number {
  return (boltzmann * kelvin * slipCorrection(micrometres)) / (3 * Math.PI * viscosity * micrometres * 1e-6);
}

/**
 * Share that is not lost to the wall of a round tube by diffusion in laminar flow. P. G. Gormley and M. Kennedy, Proc.
 * R. Irish Acad. 52A (1949) 163, seen in two independent codes. The two branches differ by 0.003 where they meet.
 * @param parameter ξ = π D L/Q, not negative.
 */
export function diffusionPenetration(parameter: number): number {
  if (!(parameter >= 0)) throw new RangeError(`π D L/Q must not be negative: it is ${parameter}`);
  if (parameter < 0.02) {
    return 1 - 2.56 * parameter ** (2 / 3) + 1.2 * parameter + 0.177 * parameter ** (4 / 3);
  }
  return (
    0.819 * Math.exp(-3.657 * parameter) + 0.097 * Math.exp(-22.3 * parameter) + 0.032 * Math.exp(-57 * parameter)
  );
}

/**
 * Share that does not settle in a horizontal round tube in laminar flow (Fuchs; Thomas), from memory.
 * @param parameter ε = ¾ L v/(d U), not negative; from 1 on nothing passes.
 */
export function gravityPenetration(parameter: number): number {
  if (!(parameter >= 0)) throw new RangeError(`¾ L v/(d U) must not be negative: it is ${parameter}`);
  if (parameter >= 1) return 0;
  const root = Math.cbrt(parameter);
  const rest = Math.sqrt(1 - root * root);
  return 1 - (2 / Math.PI) * (2 * parameter * rest - root * rest + Math.asin(root));
}

/** A round line in which air moves slowly enough to be laminar. */
export interface Line {
  readonly lengthMetres: number;
  readonly boreMillimetres: number;
  readonly litresPerMinute: number;
  /** Between the line and the horizontal, 0 to 90. */
  readonly slopeDegrees: number;
}

export interface LinePenetration {
  readonly diffusion: number;
  readonly gravity: number;
  /** The product of both. */
  readonly total: number;
  readonly reynolds: number;
}

/**
 * Share of particles of one diameter that passes a line. Bends, inlets and charge are not in it.
 * @param micrometres aerodynamic diameter.
 * @throws RangeError at a Reynolds number of 2000 or more, where neither formula holds, or a slope outside 0 to 90.
 */
export function linePenetration(line: Line, micrometres: number): LinePenetration {
  const { lengthMetres, boreMillimetres, litresPerMinute, slopeDegrees } = line;
  if (!(slopeDegrees >= 0 && slopeDegrees <= 90)) throw new RangeError('the slope must lie between 0 and 90 degrees');
  const reynolds = reynoldsNumber(boreMillimetres, litresPerMinute);
  if (reynolds >= 2000) {
    throw new RangeError(`the flow is not laminar (Reynolds number ${Math.round(reynolds)}): measure the loss instead`);
  }
  const flow = litresPerMinute / 60_000;
  const bore = boreMillimetres / 1000;
  const speed = flow / ((Math.PI / 4) * bore * bore);
  const settling = settlingSpeed(micrometres) * Math.cos((slopeDegrees * Math.PI) / 180);
  const diffusion = diffusionPenetration((Math.PI * diffusionCoefficient(micrometres) * lengthMetres) / flow);
  const gravityShare = gravityPenetration((0.75 * lengthMetres * settling) / (bore * speed));
  return { diffusion, gravity: gravityShare, total: diffusion * gravityShare, reynolds };
}

/**
 * Mass median of a lognormal size distribution from its count median: CMD · e^(3 ln²GSD) (Hatch and Choate), from
 * memory. @throws RangeError for a geometric deviation below 1.
 */
export function massMedianDiameter(countMedianMicrometres: number, geometricDeviation: number): number {
  requirePositive('the count median', countMedianMicrometres);
  if (!(geometricDeviation >= 1)) throw new RangeError('a geometric standard deviation is at least 1');
  return countMedianMicrometres * Math.exp(3 * Math.log(geometricDeviation) ** 2);
}

function requirePositive(name: string, value: number): void {
  if (!(value > 0)) throw new RangeError(`${name} must be greater than zero: it is ${value}`);
}
