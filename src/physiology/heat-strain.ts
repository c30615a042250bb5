import { requireWithin } from './validity.ts';

/** Core temperature, °C, and heart rate, a minute, at one moment. */
export interface StrainState {
  readonly coreCelsius: number;
  readonly perMinute: number;
}

export interface HeatStrain {
  /** 0 to 10 on its basis; beyond 10 when a limit is passed. Never cut. */
  readonly index: number;
  /** Bands from memory. */
  readonly band: 'none' | 'low' | 'moderate' | 'high' | 'very high';
  /** False outside 36.5 to 39.5 °C and 60 to 180 a minute, on which the index was built: a doubtful number. */
  readonly withinBasis: boolean;
}

const formula = 'the heat strain index';

/**
 * Physiological strain index: 5 (T − T0)/(39.5 − T0) + 5 (HR − HR0)/(180 − HR0). D. S. Moran and others, Am. J.
 * Physiol. 275 (1998) R129, seen in abstracts. Outside its basis the number is still given, and marked: beyond the
 * upper end is where a supervisor needs it most.
 * @param start at rest before the trial. @param now the moment judged.
 * @throws ChambersideError `outside-validity` where it is not defined (start beyond 39 °C or 170 a minute), or for
 * values that are no living person's (35 to 42 °C, 30 to 230 a minute).
 */
export function heatStrain(start: StrainState, now: StrainState): HeatStrain {
  const remedy = 'Check the sensor; a subject who starts like that must not start.';
  const core = { name: 'the core temperature at the start', unit: '°C', lowest: 35, highest: 39 };
  requireWithin(start.coreCelsius, core, formula, remedy);
  const rate = { name: 'the heart rate at the start', unit: '/min', lowest: 30, highest: 170 };
  requireWithin(start.perMinute, rate, formula, remedy);
  requireWithin(now.coreCelsius, { ...core, name: 'the core temperature', highest: 42 }, formula, 'Check the sensor.');
  requireWithin(now.perMinute, { ...rate, name: 'the heart rate', highest: 230 }, formula, 'Check the belt.');
  const index =
    (5 * (now.coreCelsius - start.coreCelsius)) / (39.5 - start.coreCelsius) +
    (5 * (now.perMinute - start.perMinute)) / (180 - start.perMinute);
  const onBasis = ({ coreCelsius, perMinute }: StrainState): boolean =>
    coreCelsius >= 36.5 && coreCelsius <= 39.5 && perMinute >= 60 && perMinute <= 180;
  return { index, band: bandOf(index), withinBasis: onBasis(start) && onBasis(now) };
}

function bandOf(index: number): HeatStrain['band'] {
  if (index < 3) return 'none';
  if (index < 5) return 'low';
  if (index < 7) return 'moderate';
  return index < 9 ? 'high' : 'very high';
}
