import type { ListedSeries } from '../../bridge/contract.ts';
import { sameSeries } from '../../series/own-series.ts';
import { offeredTemplates } from '../rig/offers.ts';
import type { LaboratoryDesk } from './laboratory-desk.ts';
import type { RigDesk } from './rig-desk.ts';

/**
 * Series that can be planned: the program's, the newest of the laboratory, and that of the scenario that runs. What is
 * listed, planned and run is one content. Of two that differ under one name and version, the later one in this order is
 * offered under a name that says whose it is: a trial of it bears that name too, so that nobody takes it for the other.
 */
export function offeredSeries(
  laboratory: { readonly content: Pick<LaboratoryDesk['content'], 'series'> },
  rigs: { readonly virtual: { readonly process: Pick<Virtual['process'], 'series'> } | null },
): ListedSeries[] {
  const offered: ListedSeries[] = [];
  const add = ({ mark, series }: ListedSeries): void => {
    const { name, version } = series;
    const taken = (wanted: string): ListedSeries | undefined =>
      offered.find((one) => one.series.name === wanted && one.series.version === version);
    let apart = name;
    for (let count = 1; ; count += 1) {
      const other = taken(apart);
      if (other === undefined) break;
      if (sameSeries(other.series, { ...series, name: apart })) return;
      apart = `${name} (of the ${mark === 'scenario' ? 'scenario' : 'laboratory'}${count === 1 ? '' : `, ${count}`})`;
    }
    offered.push({ mark, series: apart === name ? series : { ...series, name: apart } });
  };
  offeredTemplates().forEach(add);
  for (const series of laboratory.content.series) add({ series, mark: null });
  const running = rigs.virtual?.process.series;
  if (running !== undefined) add({ series: running, mark: 'scenario' });
  return offered;
}

type Virtual = NonNullable<RigDesk['virtual']>;
