import type { ReactElement } from 'react';
import { useLayoutEffect, useRef, useState } from 'react';
import { shownText } from '../../../src/bridge/wire-rows.ts';
import { FlagTriangle } from '../../ui/flag-triangle.tsx';
import { useSize } from '../../ui/use-size.ts';
import { wireWords } from '../../words/wire.ts';
import type { WireLine } from './wire-lines.ts';

/** Height of a row, px: that of `.wire-row`. */
const rowHeight = 24;
/** Rows drawn beyond what is seen, above and below. */
const beyond = 4;
/** Columns besides text and digits, in characters: time, since, direction, and the gaps. */
const otherColumns = 33;
const columnsPerByte = 4;

/** How many bytes a row has room for, from 8 to 48, a multiple of four. */
export function bytesPerRow(widthCharacters: number): number {
  const room = Math.floor((widthCharacters - otherColumns) / columnsPerByte);
  return Math.min(48, Math.max(8, Math.floor(room / 4) * 4));
}

/**
 * The rows of a wire, of which only those are drawn that are seen. It follows the newest for as long as it is not held;
 * whoever scrolls up holds it.
 */
export function WireList(props: {
  readonly lines: readonly WireLine[];
  readonly perRow: number;
  readonly wallOffsetMilliseconds: number;
  readonly held: boolean;
  readonly onHold: () => void;
}): ReactElement {
  const { held, lines, onHold } = props;
  const { ref, height } = useSize<HTMLDivElement>();
  const [top, setTop] = useState(0);
  const following = useRef(true);
  const all = lines.length * rowHeight;
  const foot = Math.max(0, all - height);
  const at = held ? Math.min(top, foot) : foot;
  useLayoutEffect(() => {
    following.current = !held;
    const element = ref.current;
    if (element !== null && !held) element.scrollTop = element.scrollHeight;
  }, [held, lines, height, ref]);
  const first = Math.max(0, Math.floor(at / rowHeight) - beyond);
  const last = Math.min(lines.length, Math.ceil((at + height) / rowHeight) + beyond);
  return (
    <div
      className="wire-list"
      ref={ref}
      role="log"
      aria-live="off"
      aria-label={wireWords.list}
      tabIndex={0}
      onScroll={({ currentTarget: { clientHeight, scrollHeight, scrollTop } }) => {
        setTop(scrollTop);
        // Up by a row or more, and not because the list has grown.
        if (following.current && scrollHeight - clientHeight - scrollTop > rowHeight) onHold();
      }}
    >
      <div className="wire-rows" style={{ height: all }}>
        <div style={{ transform: `translateY(${first * rowHeight}px)` }}>
          {lines.slice(first, last).map((line) => (
            <Row key={line.key} line={line} wallOffsetMilliseconds={props.wallOffsetMilliseconds} />
          ))}
        </div>
      </div>
    </div>
  );
}

function Row(props: { readonly line: WireLine; readonly wallOffsetMilliseconds: number }): ReactElement {
  const { line } = props;
  if (line.row === 'missed') {
    return (
      <div className="wire-row wire-trouble">
        <FlagTriangle />
        <span>{wireWords.missed(line.count)}</span>
      </div>
    );
  }
  const time = clockText(line.atMicroseconds / 1000 + props.wallOffsetMilliseconds);
  if (line.row === 'problem') {
    return (
      <div className="wire-row wire-trouble">
        <span className="wire-time">{time}</span>
        <FlagTriangle />
        <b>{wireWords.problem}</b>
        <span className="wire-detail">
          {line.code}: <ShownText text={shownText(line.detail)} />
          {line.byteCount > 0 && ` (${wireWords.bytesOf(line.byteCount)})`}
        </span>
      </div>
    );
  }
  const since = line.sinceMicroseconds;
  return (
    <div className={line.direction === 'out' ? 'wire-row wire-out' : 'wire-row'}>
      <span className="wire-time">{line.continued ? '' : time}</span>
      <span className="wire-since">{since === null ? '' : (since / 1000).toFixed(1)}</span>
      <span className="wire-way">{line.continued ? '' : wireWords[line.direction]}</span>
      <span className="wire-text">
        <ShownText text={line.text} />
      </span>
      <span className="wire-hex">{line.hex}</span>
    </div>
  );
}

/** A control code is a letter on a ground of its own, because fonts may lack its picture; its digits stand beside. */
const controlLetters: Readonly<Record<string, string>> = { '␀': '0', '␉': 't', '␊': 'n', '␍': 'r', '␛': 'e' };

function ShownText({ text }: { readonly text: string }): ReactElement {
  return (
    <>
      {text.split(/([\u2400-\u2421]+)/).map((part, index) =>
        index % 2 === 0 ? (
          part
        ) : (
          <span key={index} className="wire-control">
            {Array.from(part, (one) => controlLetters[one] ?? '·').join('')}
          </span>
        ),
      )}
    </>
  );
}

/** `08:42:10.052`, wall clock of this machine. */
function clockText(milliseconds: number): string {
  const date = new Date(milliseconds);
  const two = (value: number): string => String(value).padStart(2, '0');
  const seconds = `${two(date.getSeconds())}.${String(date.getMilliseconds()).padStart(3, '0')}`;
  return `${two(date.getHours())}:${two(date.getMinutes())}:${seconds}`;
}
