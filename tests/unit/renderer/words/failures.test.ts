import { describe, expect, it } from 'vitest';
import { errorCodes } from '../../../../src/model/error-code.ts';
import { failureWords } from '../../../../renderer/words/failures.ts';

const refused = { code: 'action-refused', what: 'a replay is open', where: 'replay', remedy: 'End the replay first' };

describe('a refusal as it is read', () => {
  it.each(Object.keys(errorCodes))('says in a sentence what to do, and never its code: %s', (code) => {
    const read = failureWords({ code, what: 'it cannot be', where: 'trial.prepare', remedy: 'do this' });
    expect(read.act).toMatch(/^[A-Z].{6,}\.$/);
    expect(read.what).toMatch(/^[A-Z].*\.$/);
    expect(JSON.stringify({ ...read, at: null })).not.toMatch(/[a-z]-[a-z]+-|trial\.prepare/);
    // Only the host knows what would have to be otherwise for an action; of all else the catalogue says it.
    expect(read.act === 'Do this.').toBe(code === 'action-refused');
  });

  it('shows where as long as it is a name that a person knows', () => {
    const whereOf = (where: string): string | null => failureWords({ ...refused, where }).where;
    for (const internal of ['t-0123456789ab', 'replay', 'heartRateLimit', 'rig.save.ports.2', '']) {
      expect(whereOf(internal), internal).toBeNull();
    }
    const ports = ['/dev/ttyUSB0', 'photometer, /dev/ttyUSB0', 'photometer'];
    const names = [...ports, 'North room rig', 'trial.chamberside'];
    for (const known of names) {
      expect(whereOf(known), known).toBe(known);
    }
  });

  it('names the field of a value that was not taken, in words', () => {
    const read = failureWords({
      ...{ code: 'usage-bad-value', what: 'Too small: expected number to be >=60' },
      ...{ where: 'trial.preview.heartRateLimit', remedy: '' },
    });
    expect(read.what).toBe('The value of “heart rate limit” does not have the form it needs.');
  });

  it('leads to where a person is chosen when nobody is there', () => {
    const nobody = { code: 'person-missing', what: 'nobody is at the rig', where: 'person', remedy: '' };
    expect(failureWords(nobody)).toEqual({
      what: 'Nobody is at the rig.',
      where: null,
      act: 'Say who is at the rig; then it can be done.',
      at: 'person',
    });
  });

  it('hands on what a newer host says that it does not know', () => {
    expect(failureWords({ code: 'too-new', what: 'x', where: '', remedy: 'wait' }).act).toBe('Wait.');
  });
});
