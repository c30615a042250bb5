// @vitest-environment jsdom
import { act, cleanup, render, screen } from '@testing-library/react';
import { createElement } from 'react';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { HostTime } from '../../../../renderer/app/host-time.ts';
import { createStreamRing } from '../../../../renderer/chart/stream-ring.ts';
import { HostTimeProvider } from '../../../../renderer/trial/host-time-context.ts';
import { Side } from '../../../../renderer/trial/side.tsx';
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

const second = 1_000_000;
const trial = madeUpTrial(middle);
let ageSeconds = 0;

beforeEach(() => void vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] }));
afterEach(() => {
  cleanup();
  vi.useRealTimers();
});

/** The heart rate as it stands when the newest reading has this age. */
function shownAt(age: number): { readonly value: string; readonly state: string; readonly more: string } {
  ageSeconds = age;
  act(() => void vi.advanceTimersByTime(200));
  const heart = screen.getByLabelText('Heart rate', { selector: 'section' });
  const value = heart.querySelector<HTMLElement>('.heart-value');
  const more = heart.querySelector('.heart-more')?.textContent ?? '';
  return { value: value?.textContent ?? '', state: value?.dataset['state'] ?? '', more };
}

describe('the heart rate', () => {
  it('says its age as soon as the next one is late, and is taken away when the belt is silent', () => {
    const ring = createStreamRing(16);
    ring.add(Float64Array.of(middle), Float64Array.of(132));
    const time = { at: () => middle + ageSeconds * second, onTheWayMicroseconds: 0 } as unknown as HostTime;
    const side = createElement(Side, { snapshot: trialDay(trial), trial, ringOf: () => ring });
    render(createElement(HostTimeProvider, { value: time, children: side }));
    expect(shownAt(0.4)).toEqual({ value: '132', state: 'fresh', more: 'limit 150 /min · 18 below' });
    expect(shownAt(1.4).state).toBe('fresh');
    expect(shownAt(1.7)).toEqual({ value: '132', state: 'old', more: '1 s old' });
    expect(shownAt(3.2)).toEqual({ value: '132', state: 'old', more: '3 s old' });
    expect(shownAt(5.3)).toEqual({ value: '–', state: 'none', more: 'no reading' });
  });

  it('says where it goes by its last minute, and nothing before there are enough readings of it', () => {
    const ring = createStreamRing(128);
    const time = { at: () => middle, onTheWayMicroseconds: 0 } as unknown as HostTime;
    const side = createElement(Side, { snapshot: trialDay(trial), trial, ringOf: () => ring });
    const beat = (index: number): void =>
      ring.add(Float64Array.of(middle - (60 - index) * second), Float64Array.of(100 + (6 * index) / 60));
    for (let index = 45; index <= 60; index += 1) beat(index);
    render(createElement(HostTimeProvider, { value: time, children: side }));
    const trend = (): string => {
      act(() => void vi.advanceTimersByTime(200));
      const heart = screen.getByLabelText('Heart rate', { selector: 'section' });
      return heart.querySelector('.heart-trend span')?.textContent ?? '';
    };
    expect(trend()).toBe('last 5 min');
    for (let index = 0; index < 45; index += 1) beat(index);
    expect(trend()).toBe('last 5 min · up 6 in a minute');
  });
});
