import { describe, expect, it } from 'vitest';
import { noPerson, readPersonDraft } from '../../../../renderer/person/person-draft.ts';

const draft = { ...noPerson, code: ' AB ', name: 'Anna', pin: '4711', pinAgain: '4711' };

describe('a person on the way into the laboratory', () => {
  it('is read, without the blanks around code and name', () => {
    const read = readPersonDraft(draft);
    expect(read.person).toEqual({ code: 'AB', name: 'Anna', roles: ['operator'], pin: '4711' });
    expect(read.problems.size).toBe(0);
  });

  it('has every field that is wrong named, each once', () => {
    const read = readPersonDraft({ code: '', name: ' ', roles: [], pin: '', pinAgain: 'x' });
    expect(read.person).toBeNull();
    expect([...read.problems.keys()].sort()).toEqual(['code', 'name', 'pin', 'roles']);
    expect(read.problems.get('code')).toEqual({ kind: 'empty' });
    expect(read.problems.get('roles')).toEqual({ kind: 'empty' });
  });

  it.each(['A/B', 'a b', '.ab'])('has no code like %j', (code) => {
    expect(readPersonDraft({ ...draft, code }).problems.get('code')).toMatchObject({ kind: 'said' });
  });

  it.each(['abcd', '123', '1234567890123'])('has no PIN that the laboratory would refuse: %s', (pin) => {
    expect(readPersonDraft({ ...draft, pin, pinAgain: pin }).problems.get('pin')).toMatchObject({ kind: 'said' });
  });

  it('has to type the PIN twice alike', () => {
    expect(readPersonDraft({ ...draft, pinAgain: '4712' }).problems.get('pinAgain')).toEqual({ kind: 'differs' });
  });
});
