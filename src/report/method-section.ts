import type { UsedTimeConstant } from '../leakage/time-constant.ts';
import type { Method } from '../model/method.ts';
import { significant } from '../model/number-text.ts';
import type { Section, Words } from './document.ts';
import { given, plain, words } from './document.ts';
import { nbsp, plainNumber } from './numbers.ts';

const notPlanned = 'It was chosen for this assessment: the one frozen when the trial began is another.';

function zeroStepWords({ zeroStepDeviations }: Method): string {
  if (zeroStepDeviations === undefined) return '';
  return (
    `when the zero made a step (${plainNumber(zeroStepDeviations)} standard deviations of its other moves) that may ` +
    'spoil the value, '
  );
}

function limitWords({ detectionFactor, detectionLimit }: Method): string {
  if (detectionLimit === 't-s') return 'Student’s t (99 %, one-sided) times the standard uncertainty';
  const factor = detectionLimit === 'three-s' ? 3 : detectionLimit === 'ten-s' ? 10 : detectionFactor;
  return `${plainNumber(factor)} standard uncertainties`;
}

/**
 * How a method turns readings into leakage, a sentence or two for each choice.
 * @param timeConstant that was used where settling is adaptive; absent: none was used yet.
 */
export function methodSteps(method: Method, timeConstant?: UsedTimeConstant): Words[] {
  const s = (seconds: number): string => `${plainNumber(seconds)}${nbsp}s`;
  const percent = (value: number): string => `${plainNumber(value)}${nbsp}%`;
  return [
    plain(
      'One photometer looks at one port at a time. What it reads counts from the moment at which the air of a new ' +
        'port has ' +
        `arrived and ${s(method.settling.seconds)} have passed (${s(method.zeroSettlingSeconds)} for filtered ` +
        'air), until the valve ' +
        `leaves the port, less a guard of ${plainNumber(method.guardDispersions)} spreads of the common line. That ` +
        'stretch is the window.',
    ),
    ...adaptiveWords(method, timeConstant),
    plain(
      method.lagCorrection
        ? 'The mean of a window is corrected for the lag of the photometer: its time constant times the rise from ' +
            'one end ' +
            `of the window to the other (${s(method.lagEndSeconds)} each), divided by its length.`
        : 'The mean of a window is taken as it is read; the lag of the photometer is not corrected.',
    ),
    plain(
      method.interpolation === 'linear'
        ? 'Zero and chamber at the time of a window lie on a straight line between the dwells before and after it.'
        : 'Zero and chamber at the time of a window are the mean of the dwells before and after it.',
    ),
    plain('The chamber reading is the span: it carries sensitivity and challenge at once.'),
    plain(
      method.subtractBackground
        ? 'Each probe’s own reading of before the challenge, net of zero, is subtracted.'
        : 'Readings of before the challenge are not subtracted.',
    ),
    plain(`Corrected for: ${corrections(method)}.`),
    plain('Negative values are kept. Nothing is replaced by zero or by a limit.'),
    plain(
      `The detection limit is ${limitWords(method)} of a value that holds no leakage, from the scatter of filtered ` +
        'air in this trial.',
    ),
    plain(
      'The uncertainty of a value is propagated from its inputs: noise of window, zeros, references and ' +
        'background, drift of the zero ' +
        `(${method.zeroDriftShape === 'random-walk' ? 'as a random walk' : 'smooth'}) and course of the challenge ` +
        'between two readings of it, dilutions, line losses and spatial factor by their certificates, time constant ' +
        'and transit times. What the rest of an exercise did is judged by how much successive dwells of a probe ' +
        'differ.',
    ),
    plain(
      'A value is in doubt when too much of the port before may be left in it ' +
        `(${percent(method.carryOverPercent)}), when the ` +
        `challenge around it changed by more than ${percent(method.challengeChangePercent)}, when zero moved by ` +
        'more than ' +
        `${percent(method.zeroChangePercent)} of the challenge or span by more than ` +
        `${percent(method.spanChangePercent)}, ${zeroStepWords(method)}and for the other ` +
        'reasons that its flags give.',
    ),
  ];
}

/**
 * How a reading becomes leakage, in words that a reader with a calculator can follow.
 * @param planned whether it is the method that was frozen with the trial.
 * @param timeConstant that was used where settling is adaptive.
 * @param linearity of the photometer, where a certificate states it.
 * @param breathing whether a probe lies in the breathing zone and is corrected for it.
 */
export function methodSection(
  method: Method,
  planned: boolean,
  timeConstant?: UsedTimeConstant,
  linearity?: number,
  breathing = false,
): Section {
  return {
    id: 'method',
    heading: 'Method in words',
    blocks: [
      {
        block: 'paragraph',
        words: planned
          ? words`Method “${given(method.name)}”, version ${method.version}, frozen when the trial began.`
          : words`Method “${given(method.name)}”, version ${method.version}. ${notPlanned}`,
      },
      { block: 'list', items: methodSteps(method, timeConstant) },
      {
        block: 'paragraph',
        words: plain(
          `IL = 100 · ((R − Z) − B) · (D / P) / (${linearity === undefined ? '' : 'L · '}F · (S − Z) · (Dr / Pr))` +
            (breathing ? ' · (tin + tex) / tin' : ''),
        ),
      },
      {
        block: 'facts',
        rows: [
          { name: 'IL', value: plain('inward leakage, percent of the challenge at the subject’s place') },
          { name: 'R, Z, S', value: plain('corrected reading of the window; zero; chamber') },
          { name: 'B', value: plain('background of the probe, net of zero') },
          { name: 'D, P', value: plain('dilution and penetration of the probe’s line; Dr, Pr of the chamber’s line') },
          { name: 'F', value: plain('challenge at the subject’s place divided by that at the reference point') },
          ...(breathing
            ? [
                {
                  name: 'tin, tex',
                  value: plain(
                    'for a probe in the breathing zone only: times of breathing in and out inside the window, when ' +
                      'its air left the probe; B is taken by the breath of its own window',
                  ),
                },
              ]
            : []),
          ...(linearity === undefined
            ? []
            : [
                {
                  name: 'L',
                  value: plain(
                    'linearity of the photometer by certificate: response at the levels inside divided by that at ' +
                      `the level of the chamber, ${plainNumber(linearity)}`,
                  ),
                },
              ]),
        ],
      },
    ],
  };
}

/** What an adaptive method does beyond its least waits; nothing for a fixed one. */
function adaptiveWords({ settling }: Method, timeConstant: UsedTimeConstant | undefined): Words[] {
  if (settling.rule === 'fixed') return [];
  const rule = plain(
    'The wait is longer where the reading before the switch asks for it: until no more than the method allows can ' +
      'be left of the port before, even with a time constant three standard uncertainties longer, but so that ' +
      `${plainNumber(settling.windowSeconds)}${nbsp}s of the dwell are left.`,
  );
  if (timeConstant === undefined) return [rule];
  const { falls, reason, seconds, source } = timeConstant;
  return [
    rule,
    plain(
      `Time constant of the photometer: ${significant(seconds.value, 4)}${nbsp}±${nbsp}` +
        `${significant(seconds.standardUncertainty, 2)}${nbsp}s, ` +
        (source === 'falls'
          ? `from ${falls} falls from the chamber into filtered air in this trial.`
          : `as the rig states it, because the trial does not show it (${reason ?? ''}).`),
    ),
  ];
}

function corrections(method: Method): string {
  const list = [
    ...(method.applyDilution ? ['dilution'] : []),
    ...(method.applyPenetration ? ['losses in the lines'] : []),
    ...(method.applySpatialFactor ? ['the place of the subject in the chamber'] : []),
  ];
  return list.length === 0 ? 'nothing else' : list.join(', ');
}
