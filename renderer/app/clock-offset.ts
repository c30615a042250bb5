/** Answers that the estimate looks back on. */
const remembered = 8;

/** How far this window's clock is ahead of the host's machine clock, as far as answers to questions can tell. */
export interface ClockOffset {
  /**
   * Takes in one question and its answer; all in ms.
   * @param asked window clock when it was asked. @param answered window clock when the answer came.
   */
  take(asked: number, answered: number, hostClock: number): void;
  /** Window clock minus host clock, ms, by the quickest of the last answers; null before the first. */
  readonly milliseconds: number | null;
}

export function createClockOffset(): ClockOffset {
  let answers: { readonly roundTrip: number; readonly offset: number }[] = [];
  return {
    take(asked, answered, hostClock) {
      const answer = { roundTrip: answered - asked, offset: (asked + answered) / 2 - hostClock };
      answers = [...answers.slice(1 - remembered), answer];
    },
    get milliseconds() {
      const [first, ...rest] = answers;
      if (first === undefined) return null;
      // The way there and the way back are least unlike in the quickest.
      return rest.reduce((best, one) => (one.roundTrip < best.roundTrip ? one : best), first).offset;
    },
  };
}
