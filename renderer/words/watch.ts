/** Words of the limits that a rig is watched for. */
export const watchWords = {
  heading: 'Watched limits',
  lead:
    'Besides silence, contacts and heart rate: breathing air first. The responsible person sets each limit and names ' +
    'where it is from. Each is an alarm of its own.',
  none: 'None. Where fan flow, pressure or carbon dioxide of the breathing air are measured, set limits for them.',
  another: 'Another limit',
  add: 'Add a limit',
  remove: (title: string) => (title === '' ? 'Remove this limit' : `Remove ${title}`),
  title: 'What the alarm says',
  of: 'Of instrument/stream',
  unit: 'In',
  noUnit: 'no unit',
  side: 'Alarm',
  sides: { above: 'above', below: 'below' },
  limit: 'Limit',
  hold: 'For',
  holdHint: '0: at the first value.',
  clearBy: 'Clears by',
  seconds: 's',
  priority: 'How it is told',
  priorities: { high: 'Alarm, now', medium: 'Caution, soon', low: 'Notice, at rest' },
  action: 'What to do',
  source: 'Set by, or taken from',
} as const;
