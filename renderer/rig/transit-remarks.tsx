import type { ReactElement } from 'react';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import { rigWords } from '../words/rig.ts';

/** Transits that cannot be those of their lines, in words; nothing where all agree. */
export function TransitRemarks({ remarks }: { readonly remarks: readonly string[] }): ReactElement | null {
  if (remarks.length === 0) return null;
  return (
    <ul className="transit-remarks" aria-label={rigWords.transitRemarks}>
      {remarks.map((remark) => (
        <li key={remark}>
          <FlagTriangle /> {remark}
        </li>
      ))}
    </ul>
  );
}
