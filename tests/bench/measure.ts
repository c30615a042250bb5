import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Row } from './row.ts';
import type { Size, Stage } from './stage.ts';

/**
 * Runs both sides of a stage in turns, so that whatever else the machine does falls on both, and gives their medians.
 * @param under folder for what the stage writes; a folder of its own is made in it and removed.
 */
export async function measure(stage: Stage, size: Size, under: string): Promise<Row> {
  mkdirSync(under, { recursive: true });
  const folder = mkdtempSync(join(under, `${stage.name}-`));
  const floors: number[] = [];
  const products: number[] = [];
  try {
    const sides = await stage.begin(size, folder);
    try {
      const rounds = stage.rounds[size];
      for (let round = size === 'tiny' ? 0 : -stage.warmUps; round < rounds; round += 1) {
        const productFirst = round % 2 !== 0;
        const early = productFirst ? await sides.product() : 0;
        const floor = await sides.floor();
        const product = productFirst ? early : await sides.product();
        if (round < 0) continue;
        floors.push(floor);
        products.push(product);
      }
    } finally {
      await sides.end();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return rowOf(stage, floors, products);
}

/** The row of a stage whose rounds took these times: as many of the floor as of the product, at least one. */
export function rowOf(
  stage: Pick<Stage, 'name' | 'unit' | 'target'>,
  floors: readonly number[],
  products: readonly number[],
): Row {
  const floor = quantile(floors, 0.5);
  const product = quantile(products, 0.5);
  const ratio = product / floor;
  const ratios = products.map((one, index) => one / (floors[index] as number));
  return {
    stage: stage.name,
    floor: rounded(floor),
    product: rounded(product),
    ratio: rounded(ratio),
    target: stage.target,
    met: ratio <= stage.target,
    unit: stage.unit,
    rounds: floors.length,
    floorQuartiles: quartiles(floors),
    productQuartiles: quartiles(products),
    ratioQuartiles: quartiles(ratios),
  };
}

function quartiles(values: readonly number[]): [number, number] {
  return [rounded(quantile(values, 0.25)), rounded(quantile(values, 0.75))];
}

/** By linear interpolation between the order statistics. */
function quantile(values: readonly number[], share: number): number {
  const sorted = Float64Array.from(values).sort();
  const place = share * (sorted.length - 1);
  const below = sorted[Math.floor(place)] as number;
  const above = sorted[Math.ceil(place)] as number;
  return below + (above - below) * (place - Math.floor(place));
}

/** Four significant digits: more would only be noise. */
function rounded(value: number): number {
  return Number(value.toPrecision(4));
}
