/** What a signature does not prove: said where one is made, and where one is verified. */
export const notProven: readonly string[] = [
  'A signature does not prove who sat at the keyboard, only that somebody knew the PIN; nor when: the time is the',
  'computer’s; nor that the instruments were right. A key signs for whoever holds its file, also for a thief.',
  'Nor that the data are real: whether a rig is virtual is what the file of the rig said when the trial was prepared.',
];
