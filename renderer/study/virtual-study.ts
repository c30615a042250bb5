import type { StudyView } from '../../src/bridge/study.ts';

/** Whether all figures are of the virtual rig; where there are none yet, whether all trials are. */
export function isVirtualStudy({ summary }: StudyView): boolean {
  const counted = summary.roster.filter(({ leftOut }) => leftOut === null);
  const asked = counted.length > 0 ? counted : summary.roster;
  return asked.length > 0 && asked.every(({ virtual }) => virtual);
}
