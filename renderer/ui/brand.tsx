import type { ReactElement } from 'react';

/** The sign of the program: a chamber with what is inside it, and the door beside. */
export function Brand({ size }: { readonly size: number }): ReactElement {
  return (
    <svg width={size} height={size} viewBox="0 0 24 24" aria-hidden="true">
      <rect x="1.5" y="2.5" width="14" height="19" fill="none" stroke="currentColor" strokeWidth="2.4" />
      <rect x="1.5" y="9.2" width="14" height="5.6" fill="currentColor" />
      <rect x="19" y="1.3" width="4" height="21.4" fill="currentColor" />
    </svg>
  );
}
