import { expect, it } from 'vitest';
import { watchKept } from '../../../../src/host/runtime/kept-watch.ts';
import type { Acknowledgement } from '../../../../src/host/store/contract.ts';

it('says when what was recorded is on the disk, and not before', () => {
  let now = 1_500_000;
  let acknowledge: (acknowledgement: Acknowledgement) => void = () => undefined;
  const watch = watchKept(
    {
      onAcknowledged(callback) {
        acknowledge = callback;
        return () => undefined;
      },
    },
    () => now,
  );
  const kept: string[] = [];
  watch.when(() => kept.push('first'));
  now = 2_000_000;
  watch.when(() => kept.push('second'));
  acknowledge({ link: 1, throughMicroseconds: 1_000_000 });
  expect(kept).toEqual([]);
  acknowledge({ link: 2, throughMicroseconds: 2_000_000 });
  expect(kept).toEqual(['first']);
  watch.all();
  watch.all();
  expect(kept).toEqual(['first', 'second']);
});
