import type { ReactElement } from 'react';
import { unitNames, units } from '../../src/model/unit.ts';
import { watchedLimitSchema } from '../../src/model/watched-limit.ts';
import { Button } from '../ui/button.tsx';
import type { FieldProblem } from '../ui/field-problem.ts';
import { ChoiceField, TextField } from '../ui/field.tsx';
import { watchWords } from '../words/watch.ts';
import type { Problems } from './rig-draft.ts';
import type { OfferedStream, WatchDraft } from './watch-draft.ts';
import { anotherLimit, keyOfStream, ofStream } from './watch-draft.ts';

const { priority: priorities, side: sides } = watchedLimitSchema.shape;

/** The limits that every trial on the rig is watched for, a row of fields each. */
export function WatchEditor(props: {
  readonly watch: readonly WatchDraft[];
  readonly offered: readonly OfferedStream[];
  readonly problems: Problems;
  readonly onChange: (watch: readonly WatchDraft[]) => void;
}): ReactElement {
  const { offered, onChange, watch } = props;
  return (
    <>
      {watch.length === 0 && <p className="quiet">{watchWords.none}</p>}
      {watch.map((one, index) => {
        const problem = (...fields: string[]): { problem?: FieldProblem } => {
          const found = fields.map((field) => props.problems.get(`watch.${index}.${field}`)).find(Boolean);
          return found === undefined ? {} : { problem: found };
        };
        const set = (changed: WatchDraft): void => {
          onChange(watch.map((other, at) => (at === index ? changed : other)));
        };
        const { symbol } = units[one.unit];
        return (
          <fieldset key={index} className="editor-watch">
            <legend className="spoken">{one.title === '' ? watchWords.another : one.title}</legend>
            <TextField
              label={watchWords.title}
              value={one.title}
              {...problem('title', 'name')}
              onChange={(title) => {
                set({ ...one, title });
              }}
            />
            <TextField
              label={watchWords.of}
              kind="wire"
              list={offered.map(keyOfStream)}
              value={one.of}
              {...problem('instrument', 'stream')}
              onChange={(of) => {
                set(ofStream(one, of, offered));
              }}
            />
            <ChoiceField
              label={watchWords.unit}
              value={one.unit}
              choices={unitNames.map((unit) => ({
                value: unit,
                text: units[unit].symbol === '' ? watchWords.noUnit : units[unit].symbol,
              }))}
              {...problem('unit')}
              onChange={(unit) => {
                set({ ...one, unit });
              }}
            />
            <ChoiceField
              label={watchWords.side}
              value={one.side}
              choices={sides.options.map((side) => ({ value: side, text: watchWords.sides[side] }))}
              onChange={(side) => {
                set({ ...one, side });
              }}
            />
            <TextField
              label={watchWords.limit}
              kind="number"
              unit={symbol}
              value={one.limit}
              {...problem('limit')}
              onChange={(limit) => {
                set({ ...one, limit });
              }}
            />
            <TextField
              label={watchWords.hold}
              kind="number"
              unit={watchWords.seconds}
              hint={watchWords.holdHint}
              value={one.holdSeconds}
              {...problem('holdSeconds')}
              onChange={(holdSeconds) => {
                set({ ...one, holdSeconds });
              }}
            />
            <TextField
              label={watchWords.clearBy}
              kind="number"
              unit={symbol}
              value={one.clearBy}
              {...problem('clearBy')}
              onChange={(clearBy) => {
                set({ ...one, clearBy });
              }}
            />
            <ChoiceField
              label={watchWords.priority}
              value={one.priority}
              choices={priorities.options.map((priority) => ({
                value: priority,
                text: watchWords.priorities[priority],
              }))}
              onChange={(priority) => {
                set({ ...one, priority });
              }}
            />
            <TextField
              label={watchWords.action}
              value={one.action}
              {...problem('action')}
              onChange={(action) => {
                set({ ...one, action });
              }}
            />
            <TextField
              label={watchWords.source}
              value={one.source}
              {...problem('source')}
              onChange={(source) => {
                set({ ...one, source });
              }}
            />
            <Button
              small
              onPress={() => {
                onChange(watch.filter((_, at) => at !== index));
              }}
            >
              {watchWords.remove(one.title)}
            </Button>
          </fieldset>
        );
      })}
      <Button
        onPress={() => {
          onChange([...watch, anotherLimit(offered)]);
        }}
      >
        {watchWords.add}
      </Button>
    </>
  );
}
