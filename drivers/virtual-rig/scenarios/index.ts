import type { Scenario } from '../scenario.ts';
import { breathingZone } from './breathing-zone.ts';
import { cycle } from './cycle.ts';
import { demo } from './demo.ts';
import { laminate } from './laminate.ts';
import { sharp } from './sharp.ts';
import { short } from './short.ts';

/** The scenarios that come with the program, by name. */
export const scenarios = {
  demo,
  laminate,
  sharp,
  short,
  cycle,
  'breathing-zone': breathingZone,
} as const satisfies Record<string, Scenario>;
export type ScenarioName = keyof typeof scenarios;

/** Names of the scenarios that come with the program. */
export const scenarioNames = Object.keys(scenarios) as ScenarioName[];

/** A scenario by name, or undefined. */
export function scenarioNamed(name: string): Scenario | undefined {
  return scenarioNames.includes(name as ScenarioName) ? scenarios[name as ScenarioName] : undefined;
}
