import type { ReactElement } from 'react';
import { Body, bodyPlace } from '../ui/body.tsx';
import { Brand } from '../ui/brand.tsx';
import { ProbeGlyph, probeTone } from '../ui/probe-mark.tsx';
import { startWords } from '../words/start.ts';

const probes = ['hood', 'chest', 'lower-back', 'thigh', 'ankle'] as const;
/** Order in which the picture's valve goes round: a rotation without neighbours that repeat. */
const rounds = [
  [1, 2, 0, 3, 4],
  [2, 3, 1, 0, 4],
  [3, 4, 2, 0, 1],
] as const;
const levels = [0.55, 0.42, 0.5, 0.35, 0.3] as const;
const laneHeight = 112;
const slot = 50;

/** The idea of the program as a picture: body down, time right, one port at a time. With what the program is not. */
export function Idea(): ReactElement {
  return (
    <section className="panel idea">
      <h1 className="idea-brand">
        <Brand size={54} /> Chamberside
      </h1>
      <p className="idea-lead">{startWords.lead}</p>
      <svg className="idea-picture" viewBox="0 0 1000 560" aria-hidden="true" preserveAspectRatio="xMidYMid meet">
        <Body x={112} y={16} height={540} />
        {probes.map((probe, lane) => {
          const place = bodyPlace(probe, lane, probes.length);
          const x = 112 + place.x * 540;
          const y = 16 + place.y * 540;
          const middle = laneHeight * (lane + 0.5);
          return (
            <g key={probe}>
              <path className="idea-line" d={`M250 ${laneHeight * (lane + 1) - 0.5}H1000`} />
              <path className="leader" d={`M${x} ${y}L224 ${middle}H250`} />
              <ProbeGlyph probe={probe} size={20} x={x} y={y} hollow={place.behind} />
              {rounds.map((order, round) => {
                const position = order.findIndex((one) => one === lane);
                const left = 258 + (round * 5 + position) * slot - round * 4;
                return (
                  <g key={round} transform={`translate(${left} ${laneHeight * lane + 5})`}>
                    <rect className="idea-dwell" width={slot - 8} height={laneHeight - 10} />
                    <path className={`trace ${probeTone(probe)}`} d={dwellPath(lane, round)} />
                  </g>
                );
              })}
            </g>
          );
        })}
      </svg>
      <p className="idea-not">{startWords.notThis}</p>
    </section>
  );
}

/** What a dwell looks like: air of the port before, then its own, with the unrest of a reading. */
function dwellPath(lane: number, round: number): string {
  const from = levels[(lane + round + 2) % levels.length] ?? 0.5;
  const to = levels[lane] ?? 0.5;
  const points: string[] = [];
  for (let step = 0; step <= 42; step += 1) {
    const settled = step < 6 ? 0 : 1 - Math.exp(-(step - 6) / 5);
    const unrest =
      0.018 * Math.sin(step * 2.3 + lane * 1.7 + round) + 0.014 * Math.sin(step * 5.1 + round * 2.9 + lane);
    const level = from + (to - from) * settled + unrest;
    points.push(`${step === 0 ? 'M' : 'L'}${step} ${((laneHeight - 10) * (1 - level)).toFixed(1)}`);
  }
  return points.join('');
}
