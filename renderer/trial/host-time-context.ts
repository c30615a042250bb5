import { createContext, useContext } from 'react';
import { createHostTime, type HostTime } from '../app/host-time.ts';

const context = createContext<HostTime>(createHostTime());

/** Gives the parts of a screen the clock of the host. */
export const HostTimeProvider = context.Provider;

export function useHostTime(): HostTime {
  return useContext(context);
}
