import type { ReactElement, ReactNode } from 'react';

/** A key cap: the key that does what stands beside it. */
export function Key({ children }: { readonly children: ReactNode }): ReactElement {
  return <kbd className="key">{children}</kbd>;
}
