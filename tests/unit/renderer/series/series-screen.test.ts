// @vitest-environment jsdom
import { act, cleanup, fireEvent, render, screen } from '@testing-library/react';
import { createElement } from 'react';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { SeriesScreen } from '../../../../renderer/series/series-screen.tsx';
import type { SeriesActions } from '../../../../renderer/series/series-screen.tsx';
import { goGuarded } from '../../../../renderer/ui/use-leave-guard.ts';
import type { Series } from '../../../../src/model/series.ts';

/** Without figures: nothing can be drawn here. */
const exercises = demo.series.exercises.slice(0, 2).map(({ movement: _movement, ...one }) => one);
const own: Series = { ...demo.series, exercises, name: 'Our day', version: 3, source: 'Ours.' };
let asked: string[] = [];
let exported: Series[] = [];
/** Ends the save that is under way. */
let endSave: () => void = () => undefined;
const actions: SeriesActions = {
  list: () => Promise.resolve({ done: true, value: [{ series: own, mark: null }] }),
  scatter: () =>
    Promise.resolve({ done: false, failure: { code: 'internal', what: 'It broke', where: 'host', remedy: 'Wait.' } }),
  save: (series, newest) =>
    new Promise((resolve) => {
      asked.push(`${series.name} ${series.version} on ${newest}`);
      endSave = () => resolve({ done: true, value: { version: series.version } });
    }),
  exportFile: (series) => exported.push(series),
  toPlan: () => asked.push('plan'),
};
const soon = () => act(async () => Promise.resolve());
/** By its label or text; roles take jsdom ten times as long. */
function button(name: RegExp): HTMLButtonElement {
  const named = (one: Element): boolean => name.test(one.getAttribute('aria-label') ?? one.textContent ?? '');
  const found = [...document.querySelectorAll('button')].find(named);
  if (found === undefined) throw new Error(`no button ${name.source}`);
  return found;
}
const type = (label: string, value: string): void =>
  void fireEvent.change(screen.getByLabelText(label), { target: { value } });
const press = (key: string, on: Element = document.body): boolean => fireEvent.keyDown(on, { key });

beforeEach(async () => {
  asked = [];
  exported = [];
  window.location.hash = '/series';
  render(createElement(SeriesScreen, { rig: demo.rig, actions }));
  await soon();
});
afterEach(cleanup);

async function importFile(series: Series): Promise<void> {
  const file = new File([JSON.stringify(series)], 'ours.json');
  file.text = () => Promise.resolve(JSON.stringify(series));
  fireEvent.change(document.querySelector('input[type=file]') as Element, { target: { files: [file] } });
  await soon();
}

it('does not take a file of the newest name and version for the kept one when it says something else', async () => {
  await importFile({ ...own, source: 'Theirs.' });
  expect(screen.queryByText(/As it is kept/)).toBeNull();
  expect(button(/Save as version 4/).disabled).toBe(false);
  fireEvent.click(button(/Save as version 4/));
  expect(asked).toEqual(['Our day 4 on 3']);
});

it('says of the same file that nothing is to be kept, and keeps a later version of it as that', async () => {
  await importFile(own);
  expect(screen.getByText('As it is kept: Our day, version 3.')).toBeTruthy();
  expect(button(/Save/).disabled).toBe(true);
  cleanup();
  render(createElement(SeriesScreen, { rig: demo.rig, actions }));
  await soon();
  await importFile({ ...own, version: 8 });
  fireEvent.click(button(/Save as version 8/));
  expect(asked).toEqual(['Our day 8 on 3']);
});

it('replaces nothing that is typed while it is being saved, and does not save at the end of a line', async () => {
  fireEvent.click(button(/Change it: Our day/));
  type('Source', 'Ours, again.');
  expect(press('Enter', screen.getByLabelText('Name'))).toBe(false);
  expect(asked).toEqual([]);
  fireEvent.click(button(/Save as version 4/));
  type('Rest before it', '47');
  endSave();
  await soon();
  expect(screen.getByLabelText<HTMLInputElement>('Rest before it').value).toBe('47');
  expect(button(/Save as version 5/).disabled).toBe(false);
  fireEvent.click(button(/Save as version 5/));
  expect(asked).toEqual(['Our day 4 on 3', 'Our day 5 on 4']);
});

it('exports what is kept only, and says why not otherwise', () => {
  fireEvent.click(button(/Change it: Our day/));
  type('Source', 'Ours, again.');
  expect(button(/Export/).disabled).toBe(true);
  expect(screen.getByText('Export writes what is kept: save first.')).toBeTruthy();
  type('Source', 'Ours.');
  fireEvent.click(button(/Export/));
  expect(exported).toEqual([own]);
});

it('asks once before a change is left, by key, link, or the program; and leaves at once where there is none', () => {
  fireEvent.click(button(/Change it: Our day/));
  press('Escape');
  fireEvent.click(button(/Change it: Our day/));
  type('Source', 'Ours, again.');
  screen.getByLabelText('Source').focus();
  press('Escape', screen.getByLabelText('Source'));
  expect(screen.getByText(/Leave it all the same/)).toBeTruthy();
  expect(document.activeElement?.textContent).toMatch(/Leave it all the same/);
  press('Escape');
  expect(screen.queryByText(/Leave it all the same/)).toBeNull();
  expect(document.activeElement).toBe(screen.getByLabelText('Source'));

  const link = document.body.appendChild(document.createElement('a'));
  link.href = '#/rig';
  fireEvent.click(link);
  expect(window.location.hash).toBe('#/series');
  expect(screen.getByText(/Leave it all the same/)).toBeTruthy();
  fireEvent.click(button(/Go on changing/));
  let gone = 0;
  const go = (): void => goGuarded(() => (gone += 1));
  act(go);
  expect(gone).toBe(0);
  // Whoever has to get to the trial gets there.
  act(go);
  expect(gone).toBe(1);
  link.remove();
});

it('has the browser ask before a reload, but not without a change', () => {
  const reload = (): boolean => window.dispatchEvent(new Event('beforeunload', { cancelable: true }));
  fireEvent.click(button(/Change it: Our day/));
  expect(reload()).toBe(true);
  press('x');
  expect(reload()).toBe(false);
  press('z');
  expect(reload()).toBe(true);
});

it('shows that what trials have shown could not be read, and does not say that none has', async () => {
  fireEvent.click(button(/Change it: Our day/));
  await soon();
  expect(screen.getByText(/It broke/)).toBeTruthy();
  expect(screen.queryByText(/No assessed trial/)).toBeNull();
});
