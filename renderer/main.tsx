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
import { isSubjectAddress } from './app/routes.ts';
import { applyTheme, keptTheme } from './app/theme.ts';
import { SubjectScreen } from './subject/subject-screen.tsx';
import { subjectWords } from './words/subject.ts';

applyTheme(keptTheme());

const place = document.getElementById('root');
if (place === null) throw new Error('the page has no place for the program');
const forSubject = isSubjectAddress(window.location.hash);
const base = `ws://${window.location.host}`;
const connection = connect(windowSecret(), base, forSubject ? 'subject' : 'operator');
// What a window may do hangs on whose it is: it begins anew as the other.
window.addEventListener('hashchange', () => {
  if (isSubjectAddress(window.location.hash) !== forSubject) window.location.reload();
});
if (forSubject) document.title = subjectWords.title;
createRoot(place).render(
  <StrictMode>
    <ErrorBoundary>
      {forSubject ? <SubjectScreen connection={connection} /> : <App connection={connection} />}
    </ErrorBoundary>
  </StrictMode>,
);
