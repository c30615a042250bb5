import { describe, expect, it } from 'vitest';
import { withEnd } from '../../../../src/host/rehearsal/with-end.ts';

describe('work with an end', () => {
  it('is ended once, whatever came of it, and gives what it gave', async () => {
    const said: string[] = [];
    const end = async (): Promise<void> => {
      await Promise.resolve();
      said.push('ended');
    };
    expect(await withEnd(() => Promise.resolve(7), end)).toBe(7);
    await expect(withEnd(() => Promise.reject(new Error('the disk is full')), end)).rejects.toThrow('the disk is full');
    expect(said).toEqual(['ended', 'ended']);
  });

  it('throws the error of the work when the ending fails too, and that of the ending when no other did', async () => {
    const end = (): Promise<void> => Promise.reject(new Error('cannot be closed'));
    await expect(withEnd(() => Promise.reject(new Error('the disk is full')), end)).rejects.toThrow('the disk is full');
    await expect(withEnd(() => Promise.resolve(7), end)).rejects.toThrow('cannot be closed');
  });
});
