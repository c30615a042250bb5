import type { ReactElement, ReactNode } from 'react';
import { Key } from './key.tsx';
import { useHotkey } from './use-hotkey.ts';

/** A button that shows its key, if it has one. `lit` is for the one next action. */
export function Button(props: {
  readonly children: ReactNode;
  readonly onPress?: () => void;
  readonly hotkey?: string;
  readonly lit?: boolean;
  readonly small?: boolean;
  readonly submit?: boolean;
  readonly disabled?: boolean;
  readonly label?: string;
  /** Of a button that is one of several choices. */
  readonly pressed?: boolean;
}): ReactElement {
  const disabled = props.disabled === true;
  useHotkey(props.hotkey, () => props.onPress?.(), !disabled);
  return (
    <button
      type={props.submit === true ? 'submit' : 'button'}
      className={`btn${props.lit === true ? ' lit' : ''}${props.small === true ? ' small' : ''}`}
      disabled={disabled}
      aria-label={props.label}
      aria-pressed={props.pressed}
      onClick={props.onPress}
    >
      {props.hotkey !== undefined && <Key>{props.hotkey}</Key>}
      {props.children}
    </button>
  );
}
