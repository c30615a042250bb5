// Before anything that uses a schema: the policy of the page forbids code made from text.
import './app/no-code-from-text.ts';
import '@fontsource-variable/atkinson-hyperlegible-next/wght.css';
import '@fontsource-variable/atkinson-hyperlegible-mono/wght.css';
// At most, at least, time constant: the family above has no such characters.
import '@fontsource/open-sans/math-400.css';
import '@fontsource/open-sans/math-700.css';
import './ui/tokens.css';
import './ui/base.css';
import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import { App } from './app/app.tsx';
import { connect, windowSecret } from './app/connection.ts';
import { ErrorBoundary } from './app/error-boundary.tsx';
import { applyTheme, keptTheme } from './app/theme.ts';

applyTheme(keptTheme());

const place = document.getElementById('root');
if (place === null) throw new Error('the page has no place for the program');
const connection = connect(windowSecret(), `ws://${window.location.host}`);
createRoot(place).render(
  <StrictMode>
    <ErrorBoundary>
      <App connection={connection} />
    </ErrorBoundary>
  </StrictMode>,
);
