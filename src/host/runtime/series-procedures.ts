import { parseSeries } from '../../series/own-series.ts';
import type { HostProcedures } from '../door/served-host.ts';
import { refuseTemplateName } from '../rig/offers.ts';
import { offeredSeries } from './offered-series.ts';
import type { ProcedureParts } from './procedures.ts';

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
      return offeredSeries(laboratory, rigs);
    },
    async save({ newest, series }) {
      refuseTemplateName(series.name);
      parseSeries(series, `series ${series.name}`);
      const { kept } = await laboratory.change({ change: 'series', series, newest });
      return { version: kept ?? 0 };
    },
  };
}
