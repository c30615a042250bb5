import type { ReactElement } from 'react';

/** The mark of a flagged cell; the reason stands beside it in words. */
export function FlagTriangle(): ReactElement {
  return (
    <svg className="flag-triangle" width="13" height="12" viewBox="0 0 13 12" role="img" aria-label="flagged">
      <path d="M6.5 0.5L12.5 11.5H0.5Z" />
    </svg>
  );
}
