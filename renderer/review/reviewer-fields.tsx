import type { ReactElement } from 'react';
import { useState } from 'react';
import { ChoiceField, TextField } from '../ui/field.tsx';
import { reviewWords as words } from '../words/review.ts';

/** Somebody who may decide on sealed trials. */
export interface Reviewer {
  readonly code: string;
  readonly name: string;
}

/** Who decides, and the PIN that shows it. */
export interface Signing {
  readonly person: string;
  readonly pin: string;
}

/** Whoever is at the rig, if a reviewer; else the first who is one. */
export function useSigning(reviewers: readonly Reviewer[], here: string | null): [Signing, (next: Signing) => void] {
  const first = reviewers.find(({ code }) => code === here)?.code ?? reviewers[0]?.code ?? '';
  return useState<Signing>({ person: first, pin: '' });
}

export function ReviewerFields(props: {
  readonly reviewers: readonly Reviewer[];
  readonly signing: Signing;
  readonly onSigning: (next: Signing) => void;
}): ReactElement {
  const { reviewers, signing, onSigning } = props;
  return (
    <div className="review-pair">
      <ChoiceField
        label={words.reviewer}
        value={signing.person}
        choices={reviewers.map(({ code, name }) => ({ value: code, text: `${code}, ${name}` }))}
        onChange={(person) => onSigning({ ...signing, person })}
      />
      <TextField
        label={words.pin}
        kind="secret"
        value={signing.pin}
        onChange={(pin) => onSigning({ ...signing, pin })}
      />
    </div>
  );
}
