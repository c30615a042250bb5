/**
 * Shares of the ports in the air that leaves the selector valve. While the valve moves, the share of the new port
 * rises linearly from 0 to 1 over the switching time; a port number that is not connected gives clean air.
 */
export class Selector {
  /** Share of each connected port over the last step, in the order given. */
  readonly shares: Float64Array;
  /** True when one port alone is connected and nothing moves. */
  settled = true;
  /** Index of the port on which it stands or to which it moves; −1 for a number that is not connected. */
  target: number;
  readonly #ports: readonly number[];
  readonly #from: Float64Array;
  readonly #switchingSteps: number;
  #stepsMoved = 0;

  constructor(ports: readonly number[], switchingSteps: number, startPort: number) {
    this.#ports = ports;
    this.#switchingSteps = switchingSteps;
    this.shares = new Float64Array(ports.length);
    this.#from = new Float64Array(ports.length);
    this.target = ports.indexOf(startPort);
    if (this.target >= 0) this.shares[this.target] = 1;
  }

  moveTo(port: number): void {
    this.#from.set(this.shares);
    this.target = this.#ports.indexOf(port);
    this.#stepsMoved = 0;
    this.settled = false;
  }

  /** One grid step: brings `shares` up to date. */
  step(): void {
    if (this.settled) return;
    const moved = this.#movedBy(this.#stepsMoved + 1) - this.#movedBy(this.#stepsMoved);
    this.#stepsMoved += 1;
    for (let index = 0; index < this.shares.length; index += 1) {
      this.shares[index] = (this.#from[index] as number) * (1 - moved);
    }
    if (this.target >= 0) this.shares[this.target] = (this.shares[this.target] as number) + moved;
    if (this.#stepsMoved - 1 >= this.#switchingSteps) this.settled = true;
  }

  /** Integral of the linear rise from its beginning to `steps`, so that a step's mean is exact. */
  #movedBy(steps: number): number {
    const width = this.#switchingSteps;
    if (width === 0) return steps;
    return steps <= width ? (steps * steps) / (2 * width) : steps - width / 2;
  }
}
