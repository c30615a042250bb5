import { memo, useMemo, type MouseEvent, type ReactElement } from 'react';
import type { StudyView } from '../../src/bridge/study.ts';
import { corneredPath, probeLook, type ProbeShape } from '../../src/report/probe-look.ts';
import { ProbeGlyph, probeTone } from '../ui/probe-mark.tsx';
import { useSize } from '../ui/use-size.ts';
import { studyWords } from '../words/study.ts';
import { whatIfWords } from '../words/what-if.ts';
import type { PlotBand, PlotRow, RatioAxis, StudyPlot } from './compare-layout.ts';
import { pointAt, px, studyPlot } from './compare-layout.ts';

/**
 * Leakage per ensemble on a log axis, every trial a point. The points of one row are one path: a thousand trials are as
 * quick to draw as ten, and what is lit is drawn over them.
 */
export function CompareChart(props: {
  readonly view: StudyView;
  /** The study as it stands, where `view` is a what-if; null: nothing is asked. */
  readonly standing: StudyView | null;
  /** Trial that is lit in every band. */
  readonly chosen: string | null;
  readonly onChoose: (trial: string | null) => void;
  readonly onOpen: (trial: string) => void;
}): ReactElement {
  const { view, standing, chosen } = props;
  const { ref, width } = useSize<HTMLDivElement>();
  const plot = useMemo(() => (width === 0 ? null : studyPlot(view, width, standing)), [view, width, standing]);
  const trialAt = (event: MouseEvent<SVGSVGElement>): string | null => {
    const box = event.currentTarget.getBoundingClientRect();
    return plot === null ? null : (pointAt(plot, event.clientX - box.left, event.clientY - box.top)?.trial ?? null);
  };
  return (
    <div className="compare-chart" ref={ref}>
      {plot !== null && (
        <svg
          width={plot.width}
          height={plot.height}
          role="img"
          aria-label={studyWords.picture(view.name)}
          className={chosen === null ? '' : 'compare-pointed'}
          onPointerMove={(event) => props.onChoose(trialAt(event))}
          onPointerLeave={() => props.onChoose(null)}
          onClick={(event) => {
            const trial = trialAt(event);
            if (trial !== null) props.onOpen(trial);
          }}
        >
          <Still view={view} plot={plot} isWhatIf={standing !== null} />
          <Lit plot={plot} chosen={chosen} />
        </svg>
      )}
    </div>
  );
}

/** Everything that does not follow the pointer. */
const Still = memo(function Still(props: {
  readonly view: StudyView;
  readonly plot: StudyPlot;
  readonly isWhatIf: boolean;
}) {
  const { view, plot, isWhatIf } = props;
  const { left, right, foot, top } = plot;
  return (
    <>
      <defs>
        <pattern id="below-limit" width="6" height="6" patternUnits="userSpaceOnUse">
          <circle cx="1.5" cy="1.5" r="0.9" className="compare-dots" />
          <circle cx="4.5" cy="4.5" r="0.9" className="compare-dots" />
        </pattern>
      </defs>
      <text className="compare-legend" x={left} y={16}>
        {studyWords.legend(view.summary.questions.confidence)}
      </text>
      {view.summary.ensembles.length === 2 && (
        <text className="compare-legend" x={left} y={34}>
          {studyWords.legendProbes}
          {isWhatIf && `; ${whatIfWords.crossed}`}
        </text>
      )}
      {plot.ticks.map(({ x, value, labelled }) => (
        <g key={value}>
          <path
            className={labelled ? 'compare-grid' : 'compare-tick'}
            d={`M${px(x)} ${labelled ? top : foot}V${foot + 5}`}
          />
          {labelled && (
            <text className="compare-number" x={x} y={foot + 20} textAnchor="middle">
              {studyWords.tick(value)}
            </text>
          )}
        </g>
      ))}
      <text className="compare-words" x={left} y={foot + 38}>
        {studyWords.axis}
      </text>
      {plot.bands.map((band) => (
        <Band key={band.probe ?? ''} view={view} plot={plot} band={band} />
      ))}
      {plot.limits.map(({ x, percent }, index) => (
        <g key={percent}>
          <path className="compare-limit" d={`M${px(x)} ${top - 6}V${(plot.bands[0] as PlotBand).foot - 6}`} />
          <text
            className="compare-limit-words"
            x={x + (x > right - 130 ? -6 : 6)}
            y={top + 6 + 16 * (index % 2)}
            textAnchor={x > right - 130 ? 'end' : 'start'}
          >
            {studyWords.requirement(percent)}
          </text>
        </g>
      ))}
      {plot.ratios !== null && <Ratios view={view} plot={plot} axis={plot.ratios} />}
    </>
  );
});

function Band(props: { readonly view: StudyView; readonly plot: StudyPlot; readonly band: PlotBand }): ReactElement {
  const { view, plot, band } = props;
  const { left } = plot;
  const { probe } = band;
  const middle = (band.top + band.foot) / 2;
  const label = view.probes.find((one) => one.probe === probe)?.label ?? probe ?? '';
  return (
    <g className={probe === null ? 'compare-whole' : probeTone(probe)}>
      {probe !== null && <path className="compare-rule" d={`M8 ${band.top}H${plot.width - 8}`} />}
      {band.limitX !== null && band.limitX > left && (
        <>
          <rect
            x={left}
            y={band.top + 2}
            width={band.limitX - left}
            height={band.foot - band.top - 4}
            fill="url(#below-limit)"
          />
          <path className="compare-detection" d={`M${px(band.limitX)} ${band.top + 2}V${band.foot - 2}`} />
          {probe === null && (
            <text className="compare-words" x={Math.max(left, band.limitX) + 5} y={band.foot - 6}>
              {studyWords.detectionLimit}
            </text>
          )}
        </>
      )}
      {probe === null ? (
        <text className="compare-scope" x={8} y={16}>
          {studyWords.whole}
        </text>
      ) : (
        <>
          <ProbeGlyph probe={probe} size={20} x={20} y={middle} />
          <text className="compare-probe" x={38} y={middle + 6}>
            {shortened(label, 14)}
          </text>
        </>
      )}
      {band.subjectLines !== '' && (
        <path
          className={(band.rows[0]?.points.length ?? 0) > 60 ? 'compare-subjects compare-many' : 'compare-subjects'}
          d={band.subjectLines}
        />
      )}
      {band.rows.map((row, index) => (
        <Row key={row.ensemble} plot={plot} probe={probe} row={row} index={index} />
      ))}
    </g>
  );
}

function Row(props: {
  readonly plot: StudyPlot;
  readonly probe: string | null;
  readonly row: PlotRow;
  readonly index: number;
}): ReactElement {
  const { plot, probe, row, index } = props;
  const { mean } = row;
  const size = row.points.length > 60 ? 9 : probe === null ? 17 : 14;
  const isDense = row.points.length > 60;
  const hollow = index % 2 === 1;
  const reach = probe === null ? 11 : 9;
  const shape = probe === null ? 'disc' : probeLook(probe).shape;
  return (
    <g>
      {probe === null ? (
        <EnsembleName name={plot.numbered ? `${index + 1} ${row.ensemble}` : row.ensemble} y={row.y} />
      ) : (
        <text className="compare-words" x={plot.left - 10} y={row.y + 5} textAnchor="end">
          {plot.numbered ? index + 1 : row.ensemble}
        </text>
      )}
      {mean !== null && probe !== null && (
        <path className="compare-interval-thin" d={`M${px(mean.low)} ${px(mean.y)}H${px(mean.high)}`} />
      )}
      <path
        className={`compare-points${hollow ? ' compare-hollow' : ''}${isDense ? ' compare-dense' : ''}`}
        d={row.points.map(({ x, y }) => markPath(shape, x, y, size)).join('')}
      />
      {row.takenOut.length > 0 && (
        <path
          className="compare-taken-out"
          d={row.takenOut.map(({ x, y }) => `M${px(x - 6)} ${px(y - 6)}l12 12m0 -12l-12 12`).join('')}
        />
      )}
      {row.standingX !== null && (
        <path className="compare-stood" d={`M${px(row.standingX)} ${px((mean?.y ?? row.y) - reach)}v${2 * reach}`} />
      )}
      {row.points.filter(({ below }) => below).length > 0 && (
        <>
          <path
            className="compare-arrow"
            d={row.points
              .filter(({ below }) => below)
              .map(({ x, y }) => `M${px(x - size / 2)} ${px(y)}h-6m3 -3l-3 3l3 3`)
              .join('')}
          />
          <text className="compare-words compare-over" x={plot.left + 3} y={row.y - 8}>
            {studyWords.below(row.below)}
          </text>
        </>
      )}
      {mean !== null && (
        <>
          {probe === null && (
            <path className="compare-interval" d={intervalPath(mean.low, mean.high, mean.y, 7)} />
          )}
          <path className="compare-mean" d={`M${px(mean.x)} ${px(mean.y - reach)}v${2 * reach}`} />
          {probe === null && (
            <text className="compare-mean-words" x={mean.low - 10} y={mean.y + 6} textAnchor="end">
              {studyWords.mean(mean.percent)}
            </text>
          )}
        </>
      )}
    </g>
  );
}

function Ratios(props: { readonly view: StudyView; readonly plot: StudyPlot; readonly axis: RatioAxis }): ReactElement {
  const { view, plot, axis } = props;
  const [lower = '', upper = ''] = view.summary.ensembles;
  const isDrawn = axis.right - axis.left > 60;
  return (
    <g>
      <text className="compare-scope" x={axis.wordsX} y={16} textAnchor="end">
        {studyWords.ratioHead(view.summary.ensembles.length === 2 ? shortened(upper, 12) : null, shortened(lower, 12))}
      </text>
      {isDrawn && (
        <>
          <path className="compare-one" d={`M${px(axis.oneX)} ${plot.top}V${plot.foot + 5}`} />
          {axis.ticks
            .filter(({ labelled }) => labelled)
            .map(({ x, value }) => (
              <text key={value} className="compare-number" x={x} y={plot.foot + 20} textAnchor="middle">
                {studyWords.tick(value)}
              </text>
            ))}
          <text className="compare-words" x={axis.oneX - 6} y={plot.foot + 38} textAnchor="end">
            {studyWords.less}
          </text>
          <text className="compare-words" x={axis.oneX + 6} y={plot.foot + 38}>
            {studyWords.more}
          </text>
        </>
      )}
      {axis.rows.map(({ probe, y, upper: name, shown, standingX }) => (
        <g key={`${probe ?? ''} ${name}`}>
          {shown === null ? (
            <text className="compare-words" x={axis.wordsX} y={y + 4} textAnchor="end">
              {studyWords.noRatioShort}
            </text>
          ) : (
            <>
              {isDrawn && (
                <>
                  {standingX !== null && <path className="compare-stood" d={`M${px(standingX)} ${px(y - 9)}v18`} />}
                  <path className="compare-interval" d={intervalPath(shown.low, shown.high, y, 5)} />
                  <rect className="compare-ratio" x={shown.x - 5} y={y - 5} width="10" height="10" />
                </>
              )}
              <text
                className={probe === null && !axis.oneLine ? 'compare-ratio-big' : 'compare-ratio-words'}
                x={axis.wordsX - (axis.oneLine ? 96 : 0)}
                y={axis.oneLine ? y + 5 : y}
                textAnchor="end"
              >
                {studyWords.ratio(shown.ratio)}
              </text>
              <text className="compare-words" x={axis.wordsX} y={axis.oneLine ? y + 5 : y + 17} textAnchor="end">
                {studyWords.ratioRange(shown.lowRatio, shown.highRatio)}
              </text>
            </>
          )}
        </g>
      ))}
    </g>
  );
}

/** The chosen trial, ringed in every band. */
function Lit({ plot, chosen }: { readonly plot: StudyPlot; readonly chosen: string | null }): ReactElement | null {
  if (chosen === null) return null;
  return (
    <g className="compare-lit">
      {plot.points
        .filter(({ trial }) => trial === chosen)
        .map(({ x, y }) => (
          <g key={`${x} ${y}`}>
            <circle cx={x} cy={y} r="11" className="compare-halo" />
            <circle cx={x} cy={y} r="11" />
          </g>
        ))}
    </g>
  );
}

/** A probe's mark as part of a path. */
function markPath(shape: ProbeShape, x: number, y: number, size: number): string {
  if (shape !== 'disc' && shape !== 'ring') return corneredPath(shape, x, y, size);
  // Exactly twice the radius across, or the two halves are no circle.
  const r = Number(px((9 * size) / 22));
  return `M${px(x - r)} ${px(y)}a${r} ${r} 0 0 0 ${2 * r} 0a${r} ${r} 0 0 0 ${-2 * r} 0Z`;
}

/** A line with stops at its ends. */
function intervalPath(low: number, high: number, y: number, stop: number): string {
  const end = (x: number): string => `M${px(x)} ${px(y - stop)}v${2 * stop}`;
  return `M${px(low)} ${px(y)}H${px(high)}${end(low)}${end(high)}`;
}

/** In two lines where it is long. */
function EnsembleName({ name, y }: { readonly name: string; readonly y: number }): ReactElement {
  const isLong = name.length > 14;
  const cut = isLong ? name.lastIndexOf(' ', 19) : -1;
  const lines = cut <= 0 ? [shortened(name, 19)] : [name.slice(0, cut), shortened(name.slice(cut + 1), 19)];
  return (
    <text className={isLong ? 'compare-ensemble compare-long' : 'compare-ensemble'} y={y + 6 - 9 * (lines.length - 1)}>
      {lines.map((line, index) => (
        <tspan key={line} x={8} dy={index === 0 ? 0 : 18}>
          {line}
        </tspan>
      ))}
      <title>{name}</title>
    </text>
  );
}

function shortened(name: string, most: number): string {
  return name.length <= most ? name : `${name.slice(0, most - 1)}…`;
}
