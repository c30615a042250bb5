import type { Reading } from '../../model/reading.ts';
import { subjectPerson } from '../../model/trial-event.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import { isPressedStop, stopName } from '../../safety/contacts.ts';
import type { WatchedContact } from '../../safety/contacts.ts';
import { openLines } from '../../trial/answer-list.ts';
import { beforeLines, refuseAnswer } from '../../trial/before.ts';
import type { AnswerWanted, BeforeLine } from '../../trial/before.ts';
import type { TrialSession } from '../session/trial-session.ts';
import { refusal } from './refusal.ts';
import type { TrialStory } from './view/trial-story.ts';

/** The list of before the start of a trial that is prepared. */
export interface BeforeList {
  readonly lines: BeforeLine[];
  observeReading(reading: Reading): void;
  /** @throws ChambersideError `action-refused` while something holds the start back. */
  mustBeGoneThrough(): void;
  /** @throws ChambersideError `action-refused`. @returns what the session says. */
  answer(wanted: AnswerWanted): ReturnType<TrialSession['noteBefore']>;
}

export function watchBeforeList(options: {
  readonly header: TrialHeader;
  readonly story: Pick<TrialStory, 'before'>;
  readonly contacts: readonly WatchedContact[];
  readonly session: Pick<TrialSession, 'machine' | 'noteBefore'>;
}): BeforeList {
  const { header, session, story } = options;
  const stops = options.contacts.filter(({ part }) => part === 'stop');
  /** Stops that were pressed since the trial was prepared, and those that were let go again. */
  const pressed = new Set<string>();
  const tried = new Set<string>();
  const lines = (): BeforeLine[] => beforeLines(story.before, stops.length > 0, header.certificates);
  const isPrepared = (): boolean => session.machine.phase === 'prepared';
  return {
    get lines() {
      return lines();
    },
    // A press before the start tries the stop once it is let go: a wire that was cut looks pressed too, and stays so.
    observeReading(reading) {
      if (!isPrepared()) return;
      const stop = `${reading.instrument} ${reading.stream}`;
      if (isPressedStop(reading, stops)) pressed.add(stop);
      else if (pressed.has(stop)) tried.add(stop);
      if (tried.size === 0 || tried.size < stops.length || story.before.has('subject-stop')) return;
      const note = `Pressed: ${stops.map(({ stream }) => stopName(stream)).join(', ')}`;
      session.noteBefore({ item: 'subject-stop', answer: 'confirmed', persons: [subjectPerson], note });
    },
    mustBeGoneThrough() {
      const open = openLines(lines()).map(({ title }) => title);
      // Nobody is inside a virtual rig.
      if (header.virtual || open.length === 0 || !isPrepared()) return;
      const remedy = 'Confirm each of the list on the console.';
      throw refusal(`not gone through yet: ${open.join(', ')}`, header.trial, remedy);
    },
    answer(wanted) {
      if (!isPrepared()) throw refusal('the trial has been started', header.trial, 'Note it as a mark.');
      const refused = refuseAnswer(wanted, lines());
      if (refused !== null) throw refusal(refused[0], wanted.item, refused[1]);
      return session.noteBefore({ ...wanted, persons: [...wanted.persons], note: wanted.note.trim() });
    },
  };
}
