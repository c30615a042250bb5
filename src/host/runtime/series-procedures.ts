import { parseSeries } from '../../series/own-series.ts';
import type { HostProcedures } from '../door/served-host.ts';
import { offeredTemplates, refuseTemplateName } from '../rig/offers.ts';
import type { ProcedureParts } from './procedures.ts';
import { allSeries } from './view/host.ts';

/** What windows can ask about series. */
export function seriesProcedures(
  parts: Pick<ProcedureParts, 'files' | 'folder' | 'laboratory' | 'rigs'>,
): HostProcedures['series'] {
  const { files, folder, laboratory, rigs } = parts;
  return {
    async scatter() {
      const rig = rigs.opened?.rig ?? null;
      return rig === null ? null : files.do('scatter', { folder, rig });
    },
    async list() {
      const templates = offeredTemplates();
      return allSeries(laboratory, rigs).map((series) => ({
        series,
        mark: templates.find((template) => template.series.name === series.name)?.mark ?? null,
      }));
    },
    async save({ series }) {
      refuseTemplateName(series.name);
      parseSeries(series, `series ${series.name}`);
      await laboratory.change({ change: 'series', series });
      const kept = laboratory.content.series.find(({ name }) => name === series.name);
      return { version: kept?.version ?? 0 };
    },
  };
}
