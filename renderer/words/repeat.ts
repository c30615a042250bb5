/** A trial that is done again. */
export const repeatWords = {
  again: 'Repeat',
  from: (exercise: string) => `Go on from ${exercise}`,
  repeats: (trial: string, from: string | null) => `Repeats ${trial}${from === null ? '' : `, from ${from} on only`}`,
  repeatedBy: (trial: string) => `Repeated by ${trial}`,
  byMistake: 'Stopped by mistake? The result offers a new trial from where it was stopped.',
};
