import type { ReactElement } from 'react';
import { Button } from '../ui/button.tsx';
import { rigWords } from '../words/rig.ts';
import type { Readiness } from './readiness.ts';

/** In one sentence whether a trial can start, and what it would carry. */
export function ReadinessBox(props: {
  readonly readiness: Readiness;
  readonly nameOf: (instrument: string) => string;
  readonly onPlan: () => void;
  readonly onPerson: () => void;
}): ReactElement {
  const { obstacles, burdens } = props.readiness;
  const ready = obstacles.length === 0;
  return (
    <section className="readiness" role="status">
      <p>
        <b>{ready ? rigWords.canStart : rigWords.cannotStart}</b>{' '}
        {obstacles.map((obstacle) => rigWords.obstacle(obstacle, props.nameOf)).join(' ')}{' '}
        {ready && burdens.length === 0 && rigWords.carriesNothing}
        {burdens.length > 0 && `${rigWords.carries} ${burdens.map(rigWords.burden).join('; ')}.`}
      </p>
      {ready && (
        <Button lit hotkey="N" onPress={props.onPlan}>
          {rigWords.plan}
        </Button>
      )}
      {obstacles.some(({ kind }) => kind === 'nobody') && (
        <Button lit={obstacles.length === 1} hotkey="W" onPress={props.onPerson}>
          {rigWords.sayWho}
        </Button>
      )}
    </section>
  );
}
