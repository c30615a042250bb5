import type { AcquisitionSink } from '../acquisition/acquisition.ts';
import type { TrialAcquisition } from '../session/trial-session.ts';
import type { OpenRig } from './open-rig.ts';

/**
 * The instruments of an open rig as one trial has them: counted from the moment at which it begins to listen, and
 * stamped by the host's clock. Ending it leaves the rig open.
 */
export function acquireOpenRig(rig: OpenRig, sink: AcquisitionSink): TrialAcquisition {
  let detach: (() => void) | undefined;
  const before = new Map(rig.rig.instruments.map(({ instrument }) => [instrument, rig.bytes(instrument)] as const));
  return {
    streams: rig.streams,
    begin() {
      detach ??= rig.attach(sink);
    },
    // A trial may be prepared while an instrument is lost; it is said, and start is refused.
    connected: () => Promise.resolve(),
    selector: () => rig.selector(),
    isConnected: (instrument) => rig.isConnected(instrument),
    bytes(instrument) {
      const now = rig.bytes(instrument);
      const then = before.get(instrument) ?? { received: 0, accounted: 0, sent: 0 };
      return {
        received: now.received - then.received,
        accounted: now.accounted - then.accounted,
        sent: now.sent - then.sent,
      };
    },
    retry: (instrument) => rig.retry(instrument),
    end() {
      detach?.();
      detach = undefined;
      return Promise.resolve();
    },
  };
}
