import type { ReactElement } from 'react';

const paths = {
  tick: 'M4 12.5l5 5L20 6.5',
  cross: 'M6 6l12 12M18 6L6 18',
  break: 'M2 12h6M16 12h6M10 8l-2 8M16 8l-2 8',
  lock: 'M6 11h12v10H6ZM8.5 11V8a3.5 3.5 0 0 1 7 0v3',
  pause: 'M8 5v14M16 5v14',
  play: 'M7 5l12 7-12 7Z',
  flag: 'M6 21V4h12l-3 4.5L18 13H6',
  again: 'M5 5v5h5M5.6 10A7.5 7.5 0 1 1 5 15',
  skip: 'M6 6l8 6-8 6ZM18 6v12',
  longer: 'M4 5v14M8 12h12M15 7l5 5-5 5',
  valve: 'M4 6.5v11l16-11v11Z',
  lanes: 'M4 6h16M4 12h16M4 18h16',
  display: 'M3 4h18v12H3ZM9 21h6M12 16v5',
  plug: 'M9 3v5M15 3v5M6 8h12v3a6 6 0 0 1-12 0ZM12 17v4',
} as const;

export type IconName = keyof typeof paths | 'caution';

/** A drawing of one stroke before a word; `caution` is filled, as alarms are. */
export function Icon(props: { readonly name: IconName; readonly size?: number }): ReactElement {
  const size = props.size ?? 18;
  if (props.name === 'caution') {
    return (
      <svg className="icon" width={size} height={size} viewBox="0 0 24 24" aria-hidden="true">
        <path d="M12 3L22 20.5H2Z" fill="var(--onmid)" />
        <path d="M12 9v5.2" stroke="var(--mid)" strokeWidth="2.6" strokeLinecap="round" />
        <circle cx="12" cy="17.6" r="1.5" fill="var(--mid)" />
      </svg>
    );
  }
  return (
    <svg
      className="icon"
      width={size}
      height={size}
      viewBox="0 0 24 24"
      fill="none"
      stroke="currentColor"
      strokeWidth="2"
      strokeLinecap="round"
      strokeLinejoin="round"
      aria-hidden="true"
    >
      <path d={paths[props.name]} />
    </svg>
  );
}
