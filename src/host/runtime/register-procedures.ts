import type { PlacingRig } from '../../bridge/register.ts';
import type { Rig } from '../../model/rig.ts';
import type { HostProcedures } from '../door/served-host.ts';
import type { ProcedureParts } from './procedures.ts';

/**
 * What windows can ask about the register. Nothing is refused because of a trial under way: it keeps what was frozen
 * with it when it was prepared.
 */
export function registerProcedures(
  parts: Pick<ProcedureParts, 'laboratory' | 'rigs'>,
): HostProcedures['register'] {
  const { laboratory, rigs } = parts;
  return {
    async view() {
      const { altered, instruments, rigs: kept } = await laboratory.register();
      const open = rigs.opened?.rig ?? null;
      const others = open === null ? kept : kept.filter(({ name }) => name !== open.name);
      return {
        instruments: instruments.map((entry) => ({ ...entry, certificates: [...entry.certificates] })),
        altered: [...altered],
        rigs: (open === null ? others : [open, ...others]).map(placingRig),
      };
    },
    history: ({ instrument }) => laboratory.instrumentHistory(instrument),
    async add({ entry, person, pin }) {
      const open = rigs.opened?.rig ?? null;
      const { kept } = await laboratory.change({ change: 'register', entry, person, pin, open });
      return { record: kept ?? 0 };
    },
  };
}

function placingRig({ instruments, name, ports, virtual }: Rig): PlacingRig {
  return {
    ...{ name, virtual },
    instruments: instruments.map(({ instrument, kind }) => ({ instrument, kind })),
    ports: ports.map(({ label, probe }) => ({ probe, label })),
  };
}
