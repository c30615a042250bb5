import { useCallback } from 'react';
import { useHashLocation } from 'wouter/use-hash-location';
import { goGuarded } from '../ui/use-leave-guard.ts';

/** Addresses of the screens inside the window, after `#`. */
export const routes = {
  start: '/',
  person: '/person',
  rig: '/rig',
  check: (check: string, subject: string | null) => `/rig/${check}${subject === null ? '' : `/${subject}`}`,
  trial: '/trial',
  replay: '/replay',
  series: '/series',
  register: '/instruments',
  /** A window of its own, for the person in the ensemble. */
  subject: '/subject',
  plan: (file: string | null) => (file === null ? '/plan' : `/plan/${encodeURIComponent(file)}`),
  study: (file: string) => `/study/${encodeURIComponent(file)}`,
  result: (file: string, trial: string) => `/result/${encodeURIComponent(file)}/${trial}`,
} as const;

/** Where the window is, and a function that goes elsewhere, unless the screen has something to ask first. */
export function usePlace(): readonly [place: string, go: (to: string) => void] {
  const [place, go] = useHashLocation();
  const guarded = useCallback((to: string) => goGuarded(() => go(to)), [go]);
  return [place, guarded];
}

/** @param hash of the window's address, `#/subject` */
export function isSubjectAddress(hash: string): boolean {
  return hash === `#${routes.subject}`;
}

/** Opens the subject's display beside this window, to be moved to the screen that the subject sees. */
export function openSubjectDisplay(): void {
  // Not without an opener: the new window takes over what lets this one in.
  window.open(`/#${routes.subject}`, 'chamberside-subject', 'popup,width=1366,height=768');
}

export type Place =
  | { readonly at: 'start' | 'person' | 'rig' | 'series' | 'instruments' | 'trial' | 'replay' | 'nowhere' }
  | { readonly at: 'check'; readonly check: string; readonly subject: string | null }
  | { readonly at: 'plan'; readonly file: string | null }
  | { readonly at: 'study'; readonly file: string }
  | { readonly at: 'result'; readonly file: string; readonly trial: string };

/** The screen that an address names. */
export function placeOf(address: string): Place {
  const [, first = '', second, third, ...more] = address.split('/').map(decoded);
  if (more.length > 0) return { at: 'nowhere' };
  if (first === 'result' && second !== undefined && third !== undefined) {
    return { at: 'result', file: second, trial: third };
  }
  if (first === 'rig' && second !== undefined) return { at: 'check', check: second, subject: third ?? null };
  if (third !== undefined) return { at: 'nowhere' };
  if (first === 'plan') return { at: 'plan', file: second ?? null };
  if (first === 'study' && second !== undefined) return { at: 'study', file: second };
  if (second !== undefined) return { at: 'nowhere' };
  switch (first) {
    case '':
      return { at: 'start' };
    case 'person':
    case 'rig':
    case 'series':
    case 'instruments':
    case 'trial':
    case 'replay':
      return { at: first };
    default:
      return { at: 'nowhere' };
  }
}

function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
