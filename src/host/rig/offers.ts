import { scenarioNamed, scenarioNames } from '../../../drivers/virtual-rig/index.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Rig } from '../../model/rig.ts';
import { compileSchedule } from '../../series/compile.ts';
import { seriesTemplates } from '../../series/templates.ts';
import type { SeriesTemplate } from '../../series/templates.ts';
import { foldedName } from '../../series/own-series.ts';
import { toSeconds } from '../../model/time.ts';

/** Names of the scenarios that come with the program. */
export const shippedScenarios: readonly string[] = scenarioNames;

/** A scenario of the virtual rig that comes with the program. */
export interface ScenarioOffer {
  readonly scenario: string;
  readonly label: string;
  readonly durationSeconds: number;
}

/** The scenarios that come with the program. */
export function offeredScenarios(): ScenarioOffer[] {
  return scenarioNames.flatMap((scenario) => {
    const found = scenarioNamed(scenario);
    if (found === undefined) return [];
    const durationSeconds = toSeconds(compileSchedule(found.series, found.rig).durationMicroseconds);
    return [{ scenario, label: found.title, durationSeconds }];
  });
}

/** Series that come with the program: templates, and those of the scenarios; each name once. */
export function offeredTemplates(): SeriesTemplate[] {
  const offered = new Map<string, SeriesTemplate>();
  for (const template of seriesTemplates) offered.set(template.series.name, template);
  for (const scenario of scenarioNames) {
    const series = scenarioNamed(scenario)?.series;
    if (series !== undefined) offered.set(series.name, { series, mark: 'own' });
  }
  return [...offered.values()];
}

/**
 * A series of that name, or of one that reads like it, would pass for it.
 * @throws ChambersideError `configuration-invalid`.
 */
export function refuseTemplateName(name: string): void {
  const folded = foldedName(name);
  if (!offeredTemplates().some(({ series }) => foldedName(series.name) === folded)) return;
  const what = 'A series of the program has this name, and is never overwritten';
  throw new ChambersideError('configuration-invalid', what, `name: ${name}`, 'Give yours another name.');
}

/**
 * A rig of real instruments to begin with: the air path and the dialects of the demo, under a name of its own. Contacts
 * are added by whoever has them: a stop that is in the rig and not on the bench bars every trial. How long and wide the
 * lines are only their owner knows.
 */
export function templateRig(): Rig {
  const demo = scenarioNamed('demo');
  if (demo === undefined) throw new RangeError('the demo scenario is missing');
  const rig = withoutLines(demo.rig);
  const instruments = rig.instruments.filter(({ kind }) => kind !== 'contact');
  return { ...rig, instruments, name: 'Chamber with eight-way selector', version: 1, virtual: false };
}

function withoutLines({ lineLitresPerMinute: _flow, ports, ...rig }: Rig): Rig {
  return { ...rig, ports: ports.map(({ boreMillimetres: _bore, lineMetres: _length, ...port }) => port) };
}
