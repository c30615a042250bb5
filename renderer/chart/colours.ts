const probes = ['hood', 'chest', 'back', 'thigh', 'ankle', 'sixth', 'ref', 'zero'] as const;
const names = [
  ...['page', 'panel', 'sunk', 'line', 'edge', 'ink', 'ink2', 'ink3', 'lit', 'onlit', 'high', 'onhigh', 'mid'],
  ...probes,
  ...probes.map((name) => `${name}-lit` as const),
] as const;
export type ColourName = (typeof names)[number];
/** Colours of probes; on a lit surface the one of the same name with `-lit` is drawn. */
export type ProbeColourName = (typeof probes)[number];
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

const probeColours: Readonly<Record<string, ProbeColourName>> = {
  hood: 'hood',
  chest: 'chest',
  'lower-back': 'back',
  thigh: 'thigh',
  ankle: 'ankle',
  chamber: 'ref',
  'filtered-air': 'zero',
};

export function probeColour(probe: string): ProbeColourName {
  return probeColours[probe] ?? 'sixth';
}
