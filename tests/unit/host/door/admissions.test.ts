import { describe, expect, it } from 'vitest';
import { admissionLimits, createAdmissions } from '../../../../src/host/door/admissions.ts';

function admissionsAt() {
  let now = 0;
  const admissions = createAdmissions(() => now, {
    ...admissionLimits,
    mostTokens: 2,
    mostSessions: 2,
    mostSecrets: 2,
  });
  const session = (said: string | null = null): string => {
    const found = admissions.redeem(admissions.issueToken(), said);
    if (found === null) throw new Error('a new token was refused');
    return found;
  };
  return { admissions, session, pass: (milliseconds: number) => void (now += milliseconds) };
}

describe('admissions', () => {
  it('use each token once', () => {
    const { admissions } = admissionsAt();
    const token = admissions.issueToken();
    expect(token).toMatch(/^[\w-]{43}$/);
    expect(admissions.redeem('', null)).toBeNull();
    expect(admissions.redeem(token, null)).not.toBeNull();
    expect(admissions.redeem(token, null)).toBeNull();
  });

  it('keep a few tokens, the newest', () => {
    const { admissions } = admissionsAt();
    const [first = '', second = '', third = ''] = [0, 1, 2].map(() => admissions.issueToken());
    expect(admissions.redeem(first, null)).toBeNull();
    expect(admissions.redeem(second, null)).not.toBeNull();
    expect(admissions.redeem(third, null)).not.toBeNull();
  });

  it('give one secret for each token, and soon or never', () => {
    const { admissions, session, pass } = admissionsAt();
    const mine = session();
    const secret = admissions.takeSecret(mine) ?? '';
    expect(secret).toMatch(/^[\w-]{43}$/);
    expect(admissions.takeSecret(mine)).toBeNull();
    expect(session(mine)).toBe(mine);
    pass(admissionLimits.pageMilliseconds + 1);
    expect(admissions.takeSecret(mine)).toBeNull();
    expect(admissions.mayOpen(mine, secret)).toBe(true);
  });

  it('know neither strange sessions nor strange secrets', () => {
    const { admissions, session } = admissionsAt();
    const [mine, other] = [session(), session()];
    const secret = admissions.takeSecret(mine) ?? '';
    expect(admissions.mayOpen(mine, secret)).toBe(true);
    expect(admissions.mayOpen(other, secret)).toBe(false);
    expect(admissions.mayOpen('stranger', secret)).toBe(false);
    expect(admissions.mayOpen(mine, '')).toBe(false);
    expect(admissions.isSession(null)).toBe(false);
    expect(admissions.isSession('')).toBe(false);
    expect(admissions.takeSecret('stranger')).toBeNull();
  });

  it('forget the oldest of too many sessions and secrets', () => {
    const { admissions, session } = admissionsAt();
    const mine = session();
    const secrets = [admissions.takeSecret(mine) ?? ''];
    for (let time = 0; time < 2; time += 1) {
      session(mine);
      secrets.push(admissions.takeSecret(mine) ?? '');
    }
    expect(secrets.map((secret) => admissions.mayOpen(mine, secret))).toEqual([false, true, true]);
    session();
    session();
    expect(admissions.isSession(mine)).toBe(false);
  });

  it('make a session wait that guesses, for a minute', () => {
    const { admissions, session, pass } = admissionsAt();
    const mine = session();
    for (let guess = 1; guess < admissionLimits.mostWrongSecrets; guess += 1) admissions.noteWrongSecret(mine);
    expect(admissions.mustWait(mine)).toBe(false);
    admissions.noteWrongSecret(mine);
    expect(admissions.mustWait(mine)).toBe(true);
    pass(admissionLimits.wrongSecretMilliseconds);
    expect(admissions.mustWait(mine)).toBe(false);
  });
});
