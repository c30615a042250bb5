import type { AskedPort, LineAsk, OfferedPort, OfferedPorts } from '../../src/bridge/ports.ts';
import { fittingPorts, identityOf } from '../../src/device/port-identity.ts';
import type { PortIdentity } from '../../src/device/port-identity.ts';

/** What was answered to one question at the ports of one listing. */
export interface PortAnswers {
  readonly ask: LineAsk;
  readonly offered: OfferedPorts;
  readonly byPath: ReadonlyMap<string, AskedPort>;
}

/**
 * The answers that still hold, by path: after another look a name may be another adapter, and settings or a baud rate
 * that have changed ask for something else.
 */
export function answersNow(
  kept: PortAnswers | null,
  ask: LineAsk | null,
  offered: OfferedPorts | null,
): ReadonlyMap<string, AskedPort> {
  if (kept === null || kept.offered !== offered || JSON.stringify(kept.ask) !== JSON.stringify(ask)) return new Map();
  return kept.byPath;
}

/** With the answers of another question at some of the ports; of those before, what still holds. */
export function withAnswers(
  kept: PortAnswers | null,
  ask: LineAsk,
  offered: OfferedPorts,
  answers: readonly AskedPort[],
): PortAnswers {
  const byPath = new Map([...answersNow(kept, ask, offered), ...answers.map((one) => [one.path, one] as const)]);
  return { ask, offered, byPath };
}

/** Whether the machine tells this port from its others, by more than its name. */
export function isToldApart(port: OfferedPort, ports: readonly OfferedPort[]): boolean {
  const identity = identityOf(port, null);
  return identity !== null && fittingPorts(identity, ports)?.length === 1;
}

/**
 * What is remembered of a port that is taken, besides its name; null: nothing, because nothing tells it from another.
 * @param told what the instrument there said of itself.
 */
export function identityToTake(
  port: OfferedPort,
  ports: readonly OfferedPort[],
  told: string | null,
): PortIdentity | null {
  return told === null && !isToldApart(port, ports) ? null : identityOf(port, told);
}
