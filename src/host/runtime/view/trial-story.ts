import type { DwellView, TrialSnapshot } from '../../../bridge/trial-snapshot.ts';
import type { TrialEvent, TrialPhase } from '../../../model/trial-event.ts';
import { afterInWords, afterTitle, followAfter } from '../../../trial/after.ts';
import type { AfterAnswers } from '../../../trial/after.ts';
import { answerWords, followAnswers, titleOf } from '../../../trial/before.ts';
import type { BeforeAnswers } from '../../../trial/before.ts';

export type NoteView = TrialSnapshot['notes'][number];

/** How an exercise went, last attempt. */
export interface ExerciseStory {
  readonly attempts: number;
  readonly beganAtMicroseconds: number | null;
  readonly endedAtMicroseconds: number | null;
  readonly complete: boolean;
  /** Added to its rests by a person, over all attempts, µs. */
  readonly restLengthenedMicroseconds: number;
}

/** What the events of a trial tell, in the shape in which it is shown. Grows with every event. */
export interface TrialStory {
  readonly phase: TrialPhase;
  readonly phaseSinceMicroseconds: number;
  /** In words; empty before the first change. */
  readonly phaseReason: string;
  /** In order of beginning. */
  readonly dwells: readonly DwellView[];
  readonly exercises: ReadonlyMap<string, ExerciseStory>;
  /** Newest last, at most 200. */
  readonly notes: readonly NoteView[];
  readonly problems: number;
  readonly alarms: number;
  /** Whether the subject is in the chamber, by what was said to them. */
  readonly inside: boolean;
  /** Exercise in which the subject moves now. */
  readonly moving: string | null;
  /** What stands of the list of before the start. */
  readonly before: BeforeAnswers;
  /** What stands of the list of after the trial. */
  readonly after: AfterAnswers;
  /** Whether the subject was ever told to enter. */
  readonly entered: boolean;
  /** End of the last effort so far; null while one goes on, and before the first. µs */
  readonly effortEndedMicroseconds: number | null;
  follow(event: TrialEvent): void;
}

const mostNotes = 200;
const unstarted: ExerciseStory = {
  attempts: 0,
  beganAtMicroseconds: null,
  endedAtMicroseconds: null,
  complete: false,
  restLengthenedMicroseconds: 0,
};

/** @param events those that have happened already, in order. */
export function tellStory(events: readonly TrialEvent[] = []): TrialStory {
  const dwells: DwellView[] = [];
  const places = new Map<number, number>();
  const exercises = new Map<string, ExerciseStory>();
  const notes: NoteView[] = [];
  let phase: TrialPhase = 'prepared';
  let phaseSinceMicroseconds = 0;
  let phaseReason = '';
  let problems = 0;
  let alarms = 0;
  let inside = false;
  let moving: string | null = null;
  let before: BeforeAnswers = new Map();
  let after: AfterAnswers = new Map();
  let entered = false;
  let effortEndedMicroseconds: number | null = null;

  const change = (dwell: number, part: Partial<DwellView>): void => {
    const place = places.get(dwell);
    const view = place === undefined ? undefined : dwells[place];
    if (place !== undefined && view !== undefined) dwells[place] = { ...view, ...part };
  };
  const requestedOf = (dwell: number): number | null =>
    dwells[places.get(dwell) ?? -1]?.requestedAtMicroseconds ?? null;
  const exercise = (name: string, part: Partial<ExerciseStory>): void => {
    exercises.set(name, { ...(exercises.get(name) ?? unstarted), ...part });
  };

  const follow = (event: TrialEvent): void => {
    const at = event.atMicroseconds;
    before = followAnswers(before, event);
    after = followAfter(after, event);
    const note = noteOf(event);
    if (note !== null) {
      notes.push(note);
      if (notes.length > mostNotes) notes.shift();
    }
    switch (event.kind) {
      case 'phase-changed':
        phase = event.to;
        phaseSinceMicroseconds = at;
        phaseReason = event.reason;
        return;
      case 'dwell-began':
        places.set(event.dwell.dwell, dwells.length);
        dwells.push({
          ...event.dwell,
          plannedAtMicroseconds: event.plannedAtMicroseconds,
          requestedAtMicroseconds: null,
          acknowledgedAtMicroseconds: null,
          unconfirmed: false,
          endedAtMicroseconds: null,
          complete: false,
        });
        return;
      case 'port-requested':
        change(event.dwell, { requestedAtMicroseconds: requestedOf(event.dwell) ?? at });
        return;
      case 'port-acknowledged':
        change(event.dwell, { acknowledgedAtMicroseconds: at, unconfirmed: false });
        return;
      case 'port-unconfirmed':
        change(event.dwell, { unconfirmed: true });
        return;
      case 'dwell-ended':
        change(event.dwell, { endedAtMicroseconds: at, complete: event.complete });
        return;
      case 'exercise-began':
        moving = event.exercise;
        effortEndedMicroseconds = null;
        exercise(event.exercise, {
          attempts: event.attempt,
          beganAtMicroseconds: at,
          endedAtMicroseconds: null,
          complete: false,
        });
        return;
      case 'exercise-ended':
        moving = null;
        effortEndedMicroseconds = at;
        exercise(event.exercise, { endedAtMicroseconds: at, complete: event.complete });
        return;
      case 'rest-lengthened': {
        const longer = exercises.get(event.exercise)?.restLengthenedMicroseconds ?? 0;
        exercise(event.exercise, { restLengthenedMicroseconds: longer + event.byMicroseconds });
        return;
      }
      case 'cue':
        if (event.cue === 'enter') inside = entered = true;
        if (event.cue === 'leave') inside = false;
        return;
      case 'problem':
        problems += 1;
        return;
      case 'alarm-raised':
        alarms += 1;
        return;
      default:
        return;
    }
  };
  for (const event of events) follow(event);

  return {
    get phase() {
      return phase;
    },
    get phaseSinceMicroseconds() {
      return phaseSinceMicroseconds;
    },
    get phaseReason() {
      return phaseReason;
    },
    dwells,
    exercises,
    notes,
    get problems() {
      return problems;
    },
    get alarms() {
      return alarms;
    },
    get inside() {
      return inside;
    },
    get moving() {
      return moving;
    },
    get before() {
      return before;
    },
    get after() {
      return after;
    },
    get entered() {
      return entered;
    },
    get effortEndedMicroseconds() {
      return effortEndedMicroseconds;
    },
    follow,
  };
}

/** What a person would write down of an event; null where nothing. */
function noteOf(event: TrialEvent): NoteView | null {
  const at = { atMicroseconds: event.atMicroseconds };
  switch (event.kind) {
    case 'operator-action':
      return { ...at, kind: event.action, text: event.note, person: event.person };
    case 'rest-lengthened': {
      const longer = `Rest before ${event.exercise} ${event.byMicroseconds / 1_000_000} s longer`;
      const text = event.note === '' ? longer : `${longer}: ${event.note}`;
      return { ...at, kind: event.kind, text, person: event.person };
    }
    case 'before-answered': {
      const what = `${titleOf(event.item)}: ${answerWords[event.answer]}`;
      const text = event.note === '' ? what : `${what}: ${event.note}`;
      return { ...at, kind: event.kind, text, person: event.persons.join(', ') };
    }
    case 'after-answered': {
      const what = `${afterTitle(event.item)}: ${afterInWords(event.item, event.answer)}`;
      const text = [what, event.note, event.measured].filter((part) => part !== '').join('. ');
      return { ...at, kind: event.kind, text, person: event.persons.join(', ') };
    }
    case 'valve-by-hand':
      return { ...at, kind: event.kind, text: `Port ${event.port}`, person: event.person };
    case 'mark-noted':
      return { ...at, kind: 'mark', text: event.note, person: event.person };
    case 'phase-changed':
      return { ...at, kind: event.to, text: event.reason, person: null };
    case 'alarm-raised':
    case 'alarm-cleared':
      return { ...at, kind: event.kind, text: event.detail, person: null };
    case 'problem':
      return {
        ...at,
        kind: event.problem.code,
        text: `${event.problem.instrument}: ${event.problem.detail}`,
        person: null,
      };
    case 'port-unconfirmed':
      return { ...at, kind: event.kind, text: `Port ${event.port}: ${event.detail}`, person: null };
    case 'segment-began':
      if (event.segment.reason === 'start') return null;
      return { ...at, kind: event.segment.reason, text: 'Recording goes on after a break.', person: null };
    default:
      return null;
  }
}
