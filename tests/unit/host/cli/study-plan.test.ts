import { describe, expect, it } from 'vitest';
import { chambersideHere } from '../../../support/command-in-process.ts';

const given = ['--subject-deviation', '2.4', '--trial-deviation', '1.3'];

describe('study-plan', () => {
  it('says how many subjects, what they buy, and who wears what', async () => {
    const words = ['--ensembles', 'A, B, C', ...given, '--ratio', '1.5', '--width', '1.2'];
    const { status, stdout } = await chambersideHere('study-plan', ...words);
    expect(status).toBe(0);
    expect(stdout).toMatch(/^Plan of a study of A, B, C: every subject wears every ensemble, 1 trial each/);
    const [, needed = ''] = /with a chance of 80 %: (\d+) subjects, \d+ trials\./.exec(stdout) ?? [];
    expect(Number(needed)).toBeGreaterThan(5);
    expect(stdout).toMatch(new RegExp(`\\n +${needed} .*this plan`));
    expect(stdout.match(/^ {2}S\d\d {2}/gm)).toHaveLength(Number(needed));
    expect(stdout).toMatch(/To know it to × ÷ 1\.20 or better in 8 of 10 studies: \d+ subjects\./);
    expect(stdout).toMatch(/To prove by counting .* 11 subjects who all keep it, 18 with one/);
  });

  it('exits with 1 where no number of subjects is enough', async () => {
    const words = ['--ensembles', 'A,B', '--trial-deviation', '100', '--subject-deviation', '2', '--ratio', '1.01'];
    const { status, stdout, stderr } = await chambersideHere('study-plan', ...words);
    expect([status, stderr]).toEqual([1, expect.stringContaining('no number of subjects tells a ratio of 1.01')]);
    expect(stdout).toMatch(/more than 1000 subjects/);
  });

  it('refuses half of what it needs', async () => {
    const wrong = async (...words: string[]): Promise<string> => {
      const { status, stderr } = await chambersideHere('study-plan', ...words);
      return `${status} ${stderr}`;
    };
    expect(await wrong(...given)).toMatch(/^2 .*--ensembles is missing/);
    expect(await wrong('--ensembles', 'A,B')).toMatch(/^2 .*--subject-deviation is missing/);
    expect(await wrong('--ensembles', 'A,B', ...given, '--limit', '1')).toMatch(/^2 .*--mean is missing/);
    expect(await wrong('--ensembles', 'A,B', ...given, '--study', 'x')).toMatch(/^2 .*two answers/);
    expect(await wrong('--ensembles', 'A,A', ...given)).toMatch(/^1 .*outside-validity/);
  });

  it('leaves out what cannot be said, and says the rest', async () => {
    const many = ['--ensembles', 'A,B,C', ...given, '--design', 'separate', '--subjects', '400', '--coverage', '0.99'];
    const { status, stdout } = await chambersideHere('study-plan', ...many, '--limit', '50', '--mean', '0.1');
    expect(status).toBe(0);
    expect(stdout).toMatch(/No allocation: 3 ensembles, 1200 subjects/);
    expect(stdout).toMatch(/with a chance of 80 %: \d+ subjects; with 400 it cannot be said\. /);
  });
});
