// @vitest-environment jsdom
import { cleanup, render, screen, waitFor } from '@testing-library/react';
import { createElement } from 'react';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { createStore } from 'zustand/vanilla';
import { App } from '../../../../renderer/app/app.tsx';
import type { Connection, ConnectionState } from '../../../../renderer/app/connection.ts';
import { createSampleChannel } from '../../../../renderer/app/sample-channel.ts';
import { appWords } from '../../../../renderer/words/app.ts';
import { madeUpTrial, trialDay } from '../../../support/screens/made-up-trial.ts';
import { middle } from '../../../support/screens/scenes.ts';

// What jsdom lacks and the charts ask for as soon as they are loaded.
vi.hoisted(() => {
  window.matchMedia = () => Object.assign(new EventTarget(), { matches: false }) as unknown as MediaQueryList;
  globalThis.ResizeObserver = class {
    observe(): void {}
    unobserve(): void {}
    disconnect(): void {}
  };
});

const trialUnderWay = trialDay(madeUpTrial(middle));

function show(state: ConnectionState, address: string): void {
  window.location.hash = address;
  const connection: Connection = {
    state: createStore(() => state),
    samples: createSampleChannel(() => undefined),
    offsetMilliseconds: () => null,
    ask: () => Promise.resolve({ done: false, failure: appWords.noContact }),
  };
  render(createElement(App, { connection }));
}

afterEach(cleanup);

describe('the frame around screens', () => {
  it('keeps stop within reach when the screen inside has a defect', () => {
    vi.spyOn(console, 'error').mockImplementation(() => undefined);
    // A study that breaks every screen which lists studies.
    const studies = null as unknown as typeof trialUnderWay.studies;
    show({ snapshot: { ...trialUnderWay, studies }, host: 'here' }, '/');
    expect(screen.getByText(appWords.defectTitle)).toBeTruthy();
    expect(screen.getByRole('button', { name: /STOP/ })).toBeTruthy();
    vi.restoreAllMocks();
  });

  it('speaks of the subject when a window in a trial is not known to the host any more', () => {
    show({ snapshot: trialUnderWay, host: 'refused' }, '/trial');
    expect(screen.getByText(appWords.hostLostAct)).toBeTruthy();
    cleanup();
    show({ snapshot: null, host: 'refused' }, '/');
    expect(screen.queryByText(appWords.hostLostAct)).toBeNull();
  });

  it('takes the keyboard along when what had the focus has gone with its screen', async () => {
    show({ snapshot: { ...trialUnderWay, trial: null }, host: 'here' }, '/nowhere');
    const button = screen.getByRole('button', { name: appWords.toStart });
    button.focus();
    window.location.hash = '/trial';
    await screen.findByText(appWords.noTrial);
    await waitFor(() => expect(document.activeElement).toBe(screen.getByRole('main')));
  });

  it('says that contact is lost over any screen, and of the subject only in a trial', () => {
    show({ snapshot: trialUnderWay, host: 'lost' }, '/rig');
    expect(screen.getByText(appWords.hostLostAct).closest('[role=alert]')).not.toBeNull();
    cleanup();
    show({ snapshot: { ...trialUnderWay, trial: null }, host: 'lost' }, '/rig');
    expect(screen.getByText(appWords.hostLost).closest('[role=alert]')).not.toBeNull();
    expect(screen.queryByText(appWords.hostLostAct)).toBeNull();
  });

  it('says of a host that has ended how a new window is reached, and of the subject only in a trial', () => {
    show({ snapshot: trialUnderWay, host: 'gone' }, '/trial');
    expect(screen.getByText(/start the program again: it opens a new window/i)).toBeTruthy();
    expect(screen.getByText(appWords.hostLostAct)).toBeTruthy();
    cleanup();
    show({ snapshot: null, host: 'gone' }, '/');
    expect(screen.getByText(appWords.hostGone)).toBeTruthy();
    expect(screen.queryByText(appWords.hostLostAct)).toBeNull();
  });
});
