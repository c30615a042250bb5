const names = [
  ...['page', 'panel', 'sunk', 'line', 'edge', 'ink', 'ink2', 'ink3', 'lit', 'onlit', 'high', 'onhigh', 'mid'],
  ...['hood', 'chest', 'back', 'thigh', 'ankle', 'sixth', 'ref', 'zero'],
] as const;
export type ColourName = (typeof names)[number];
export type Colours = Readonly<Record<ColourName, string>>;

let kept: { readonly theme: string; readonly colours: Colours } | null = null;

/** Colours of the theme that is shown, as the style sheet gives them; read anew when the theme changes. */
export function themeColours(): Colours {
  const theme = document.documentElement.dataset['theme'] ?? '';
  if (kept?.theme !== theme) {
    const style = getComputedStyle(document.documentElement);
    const colours = Object.fromEntries(names.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
    kept = { theme, colours: colours as Record<ColourName, string> };
  }
  return kept.colours;
}

const probeColours: Readonly<Record<string, ColourName>> = {
  hood: 'hood',
  chest: 'chest',
  'lower-back': 'back',
  thigh: 'thigh',
  ankle: 'ankle',
  chamber: 'ref',
  'filtered-air': 'zero',
};

export function probeColour(probe: string): ColourName {
  return probeColours[probe] ?? 'sixth';
}
