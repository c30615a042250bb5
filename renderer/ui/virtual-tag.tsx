import type { ReactElement } from 'react';

/** Stands wherever data of the virtual rig stand. */
export function VirtualTag(): ReactElement {
  return <span className="virtual-tag">Virtual rig</span>;
}
