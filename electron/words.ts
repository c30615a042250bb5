/** What the rim itself says: menus and boxes that no page draws. Everything else comes from the screens' catalogue. */
export const words = {
  program: 'Chamberside',
  menuFile: 'File',
  openStudy: 'Open a study in another folder…',
  end: 'End Chamberside',
  menuEdit: 'Edit',
  menuView: 'View',
  studyFiles: 'Studies of Chamberside',
  saveTitle: 'Save',
  closeTitle: 'A trial is under way',
  closeTold: 'Close the window all the same? The trial is held at once, and a new window is offered to go on with it.',
  closeOwn: 'End all the same? The trial is held at once, everything recorded stays, and it can be gone on with later.',
  keep: 'Keep the window',
  close: 'Close and hold the trial',
  wait: 'Wait for it',
  endHost: 'End it now',
  hostStaysTitle: 'The recorder of Chamberside has not ended yet',
  hostStays:
    'It may still be writing. If it is ended now, everything that it has confirmed is in its files; the last second ' +
    'and a half before that may not be.',
  hostGoneTitle: 'The recorder of Chamberside does not run',
  hostGone: (said: string) =>
    `${said === '' ? 'It ended without a word.' : said}\n\n` +
    'Everything recorded is in its files. Correct what is said above and start the program again; a trial that was ' +
    'under way is held and can be gone on with.',
};
