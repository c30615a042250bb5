/** `system`: as the machine is set. */
export type Theme = 'light' | 'dark' | 'system';

const storageKey = 'chamberside-theme';

/** What was chosen in this browser; `system` when nothing was, or when nothing can be kept. */
export function keptTheme(): Theme {
  try {
    const kept = window.localStorage.getItem(storageKey);
    return kept === 'light' || kept === 'dark' ? kept : 'system';
  } catch {
    return 'system';
  }
}

/** Shows the theme and keeps it. */
export function applyTheme(theme: Theme): void {
  const dark = theme === 'dark' || (theme === 'system' && window.matchMedia('(prefers-color-scheme: dark)').matches);
  document.documentElement.dataset['theme'] = dark ? 'dark' : 'light';
  try {
    window.localStorage.setItem(storageKey, theme);
  } catch {
    // A browser that keeps nothing shows the theme all the same.
  }
}

/** The theme that is shown now. */
export function shownTheme(): 'light' | 'dark' {
  return document.documentElement.dataset['theme'] === 'dark' ? 'dark' : 'light';
}
