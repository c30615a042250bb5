import { existsSync } from 'node:fs';
import { ChambersideError } from '../../model/error-code.ts';
import { createStudy } from '../store/create-study.ts';
import { rehearse, type RehearsalProgress } from './rehearse.ts';

/** What the two ensembles of the demo are called, and the scenario that each is made of. */
const ensembles = [
  { ensemble: 'One-piece', scenario: 'demo' },
  { ensemble: 'Two-piece', scenario: 'laminate' },
] as const;

/** Leakage of a whole trial that the grain terminal allows, percent. */
const demoRequirementPercent = 1;
/** Seeds of the trials of one study begin this far from those of the next. */
const seedsApart = 1000;

export interface DemoOptions {
  /** Study file to make; it must not be there. */
  readonly path: string;
  readonly seed: number;
  /** 1 to 99. */
  readonly subjects: number;
  readonly onTrial: (trial: DemoTrial) => void;
  readonly onProgress?: (progress: RehearsalProgress) => void;
  /** Ends it early; what is recorded stays. */
  readonly interruption: AbortSignal;
}

export interface DemoTrial {
  readonly trial: string;
  readonly subject: string;
  readonly ensemble: string;
  readonly scenario: string;
  readonly seed: number;
  /** Mean window leakage of its cells, percent; null where there is none. */
  readonly percent: number | null;
}

/**
 * The study of the grain terminal, every trial of it rehearsed on the virtual rig: subjects wear both ensembles, every
 * other one the two-piece first. The same seed gives the same physics.
 * @throws ChambersideError `file-exists`, and those of a rehearsal.
 */
export async function makeDemoStudy(options: DemoOptions): Promise<DemoTrial[]> {
  const { path, seed, subjects } = options;
  if (existsSync(path)) {
    throw new ChambersideError('file-exists', 'there is a file already', path, 'Give another name, or move it away.');
  }
  createStudy(path, `Grain terminal coveralls, demo ${seed}`, new Date().toISOString());
  const trials: DemoTrial[] = [];
  for (let number = 1; number <= subjects; number += 1) {
    const subject = `S${String(number).padStart(2, '0')}`;
    for (const { ensemble, scenario } of number % 2 === 1 ? ensembles : [...ensembles].reverse()) {
      const own = seedsApart * seed + trials.length;
      const { trial, assessment } = await rehearse({
        ...{ studyPath: path, wire: 'none', scenario, seed: own, speed: Infinity, resume: false },
        ...{ subject, ensemble, operator: 'demo', heartRateLimit: 190, requirementPercent: demoRequirementPercent },
        ...(options.onProgress === undefined ? {} : { onProgress: options.onProgress }),
        // One of its own for each, or every rehearsal would leave a listener behind.
        interruption: AbortSignal.any([options.interruption]),
      });
      const { windowPercent } = assessment.overall;
      const made = { trial, subject, ensemble, scenario, seed: own, percent: windowPercent };
      trials.push(made);
      options.onTrial(made);
    }
  }
  return trials;
}
