import type { CSSProperties, ReactElement, ReactNode } from 'react';
import type { RigState } from '../../src/bridge/snapshot.ts';
import { lineGeometry } from '../../src/calibration/line-geometry.ts';
import { flowWords } from '../../src/calibration/line-words.ts';
import type { Rig } from '../../src/model/rig.ts';
import { Body, bodyPlace } from '../ui/body.tsx';
import { ProbeGlyph, ProbeMark } from '../ui/probe-mark.tsx';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import { useSize } from '../ui/use-size.ts';
import { significant } from '../words/numbers.ts';
import { rigWords } from '../words/rig.ts';
import { footHeight, headHeight, lineBars, linesAreStated, pathRows, rowHeight, rowMiddle } from './air-path-view.ts';
import type { LineBar, PathRow } from './air-path-view.ts';
import './air-path.css';

const bodyWidth = 190;
const valveWidth = 84;
/** From the valve to the photometer, where there is room and where there is little. */
const outlet = { wide: 64, narrow: 34 } as const;
const narrowBelow = 1000;

/**
 * The rig as the air goes: body, probes, lines, valve, photometer. Lit is the air that flows now, because the valve
 * said so.
 * @param onSelectPort set while the valve is turned by hand: ports become buttons.
 * @param photometer the box at the end of the path.
 */
export function AirPath(props: {
  readonly rig: Rig;
  readonly state: RigState;
  readonly onSelectPort: ((port: number) => void) | null;
  readonly photometer: ReactNode;
}): ReactElement {
  const { ref, height, width } = useSize<HTMLDivElement>();
  const valveState = props.state.instruments.find(({ instrument }) => instrument === props.rig.selectorValve);
  const rows = pathRows(props.rig.ports, props.state.valve, valveState?.state === 'live');
  const row = rowHeight(height, rows.length);
  const inAll = headHeight + row * rows.length;
  // React's types know no custom properties.
  const sizes = { '--row': `${row}px`, '--head': `${headHeight}px`, '--rows': rows.length } as CSSProperties;
  const bars = lineBars(rows);
  const lines = linesAreStated(rows);
  const flowing = rows.findIndex(({ air }) => air === 'flows');
  return (
    <div className="air-path" ref={ref} style={sizes} tabIndex={0} role="group" aria-label={rigWords.airPath}>
      <p className="spoken" aria-live="polite">
        {airInWords(rows)}
      </p>
      <BodySide rows={rows} row={row} height={inAll} hidden={width > 0 && width < 700} />
      <table className="air-path-lines">
        <thead>
          <tr>
            <th scope="col">{rigWords.probe}</th>
            {lines && <th scope="col">{rigWords.line}</th>}
            <th scope="col" className={lines ? 'n' : undefined}>
              {rigWords.transit}
            </th>
            {lines && (
              <th scope="col" className="n">
                {rigWords.ofVolume}
              </th>
            )}
            <th scope="col" className="n wide-only">
              {rigWords.penetration}
            </th>
            <th scope="col" className="n">
              {rigWords.dilution}
            </th>
            <th scope="col" className="air-path-port">
              <span className="spoken">{rigWords.port}</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map((one, index) => (
            <Line
              key={one.port.port}
              rig={props.rig}
              row={one}
              bar={bars[index] ?? null}
              lines={lines}
              onSelectPort={props.onSelectPort}
            />
          ))}
        </tbody>
      </table>
      <ValveSide
        row={row}
        height={inAll}
        flowing={flowing}
        outlet={width < narrowBelow ? outlet.narrow : outlet.wide}
        answerMilliseconds={props.state.valve.answerMilliseconds}
      />
      <div className="air-path-photometer">{props.photometer}</div>
    </div>
  );
}

/** What the lit path says, for those who do not see it. */
function airInWords(rows: readonly PathRow[]): string {
  for (const { port, air } of rows) {
    if (air === 'flows') return rigWords.airNow(port.label, port.port);
    if (air === 'asked') return rigWords.airAsked(port.label, port.port);
    if (air === 'unconfirmed') return rigWords.airUnconfirmed(port.port);
  }
  return rigWords.airUnknown;
}

function Line(props: {
  readonly rig: Rig;
  readonly row: PathRow;
  readonly bar: LineBar | null;
  /** Whether the rig says how long its lines are: then they are drawn, and not the transits. */
  readonly lines: boolean;
  readonly onSelectPort: ((port: number) => void) | null;
}): ReactElement {
  const { port, air } = props.row;
  const lit = air === 'flows';
  const spare = port.role === 'spare';
  const line = lineGeometry(props.rig, port);
  const bar = props.bar !== null && (
    <span
      className="air-path-bar"
      style={{ width: `${Math.round(props.bar.share * 100)}%`, height: `${props.bar.thickness}px` }}
    />
  );
  return (
    <tr className={`air-${air}${spare ? ' air-spare' : ''}`}>
      <th scope="row">
        <span className="air-path-name">
          {!spare && <ProbeMark probe={port.probe} size={22} lit={lit} />}
          {spare ? rigWords.noProbe : port.label}
          {air === 'asked' && <span className="air-path-word">{rigWords.moving}</span>}
          {air === 'unconfirmed' && <span className="flag">{rigWords.notConfirmed}</span>}
        </span>
      </th>
      {props.lines && (
        <td className="air-path-line">
          {!spare && (
            <>
              <LineSize metres={port.lineMetres} bore={port.boreMillimetres} />
              {bar}
              {line !== null && (
                <span className="air-path-more">
                  {rigWords.lineMore(
                    significant(line.millilitres, 2),
                    String(Math.round(line.reynolds)),
                    flowWords[line.flow],
                  )}
                </span>
              )}
            </>
          )}
        </td>
      )}
      <td className={props.lines ? 'n' : 'air-path-line'}>
        {!spare && (
          <>
            {line !== null && line.standing !== 'agrees' && <FlagTriangle />}
            <b>{port.transitSeconds.value.toFixed(1)}</b> s{!props.lines && bar}
          </>
        )}
      </td>
      {props.lines && <td className="n">{line === null ? !spare && '–' : `${line.plugSeconds.toFixed(1)} s`}</td>}
      <td className="n wide-only">{!spare && port.penetration.value.toFixed(2)}</td>
      <td className="n">{!spare && port.dilution.value.toFixed(2)}</td>
      <td className="air-path-port">
        {props.onSelectPort === null ? (
          <span className="port-number">{port.port}</span>
        ) : (
          <button
            type="button"
            className="port-number"
            aria-label={rigWords.selectPort(port.port, spare ? rigWords.noProbe : port.label)}
            aria-current={lit}
            onClick={() => props.onSelectPort?.(port.port)}
          >
            {port.port}
          </button>
        )}
      </td>
    </tr>
  );
}

function LineSize(props: { readonly metres: number | undefined; readonly bore: number | undefined }): ReactElement {
  if (props.metres === undefined) return <span className="air-path-size">{rigWords.lineNotStated}</span>;
  return (
    <span className="air-path-size">
      <b>{props.metres}</b> m{props.bore !== undefined && <span>{rigWords.bore(String(props.bore))}</span>}
    </span>
  );
}

/** The body with a leader line from each probe to its row. */
function BodySide(props: {
  readonly rows: readonly PathRow[];
  readonly row: number;
  readonly height: number;
  readonly hidden: boolean;
}): ReactElement | null {
  if (props.hidden) return null;
  const probes = props.rows.filter(({ port }) => port.role === 'probe');
  const outside = props.rows.filter(({ port }) => port.role === 'reference' || port.role === 'filtered-air');
  const bodyHeight = Math.max(props.row * probes.length - 12, 120);
  const body = { x: 80, y: headHeight + 6, height: bodyHeight };
  return (
    <svg className="air-path-body" width={bodyWidth} height={props.height} aria-hidden="true">
      <Body x={body.x} y={body.y} height={body.height} />
      {probes.map(({ port, air }, index) => {
        const place = bodyPlace(port.probe, index, probes.length);
        const x = body.x + place.x * body.height;
        const y = body.y + place.y * body.height;
        const to = rowMiddle(index, props.row);
        return (
          <g key={port.port}>
            <path
              className={air === 'flows' ? 'leader leader-lit' : 'leader'}
              d={`M${x} ${y}L${bodyWidth - 26} ${to}H${bodyWidth}`}
            />
            <ProbeGlyph probe={port.probe} size={17} x={x} y={y} hollow={place.behind} />
          </g>
        );
      })}
      {outside.map(({ port, air }, index) => {
        const y = rowMiddle(probes.length + index, props.row);
        return (
          <g key={port.port}>
            <rect className="source" x={14} y={y - props.row / 2 + 5} width={132} height={props.row - 10} />
            <text className="source-name" x={26} y={y + 5}>
              {port.role === 'reference' ? rigWords.chamber : rigWords.filter}
            </text>
            <path className={air === 'flows' ? 'leader leader-lit' : 'leader'} d={`M146 ${y}H${bodyWidth}`} />
          </g>
        );
      })}
    </svg>
  );
}

/** The valve and the way from the port that is open to the photometer. */
function ValveSide(props: {
  readonly row: number;
  readonly height: number;
  readonly flowing: number;
  readonly outlet: number;
  readonly answerMilliseconds: number | null;
}): ReactElement {
  const middle = headHeight + (props.height - headHeight) / 2;
  const bend = valveWidth * 0.62;
  const end = valveWidth + props.outlet;
  const from = rowMiddle(props.flowing, props.row);
  return (
    <svg className="air-path-valve" width={end} height={props.height + footHeight}>
      <text className="valve-name" x={valveWidth / 2} y={headHeight - 16} textAnchor="middle">
        {rigWords.valve}
      </text>
      {props.answerMilliseconds !== null && (
        <text className="valve-name" x={valveWidth / 2} y={props.height + 16} textAnchor="middle">
          {rigWords.answered(props.answerMilliseconds)}
        </text>
      )}
      <rect className="valve" x={1} y={headHeight - 8} width={valveWidth} height={props.height - headHeight + 4} />
      <path className="pipe" d={`M${valveWidth} ${middle}H${end}`} />
      {props.flowing >= 0 && <path className="pipe-lit" d={`M10 ${from}H${bend}V${middle}H${end}`} />}
    </svg>
  );
}
