import type { ReactElement } from 'react';
import { movementSchema } from '../../src/model/series.ts';
import { FigurePicture } from '../figure/figure-picture.tsx';
import type { FieldProblem } from '../ui/field-problem.ts';
import { ChoiceField, LongField, TextField } from '../ui/field.tsx';
import { seriesWords } from '../words/series.ts';
import type { ExerciseDraft, SeriesChange, SeriesDraft } from './series-draft.ts';

const { fields, unit } = seriesWords;
const lengths = ['restSeconds', 'restZeroSeconds', 'leadInSeconds', 'durationSeconds'] as const;

/** The exercise that is chosen, field by field. */
export function ExerciseForm(props: {
  readonly draft: SeriesDraft;
  readonly exercise: ExerciseDraft;
  readonly problems: ReadonlyMap<string, FieldProblem>;
  readonly onChange: (change: SeriesChange) => void;
}): ReactElement {
  const { draft, exercise } = props;
  const field = <Name extends Exclude<keyof ExerciseDraft, 'key'>>(name: Name) => {
    const problem = props.problems.get(`exercises.${draft.chosen}.${name}`);
    return {
      value: exercise[name],
      onChange: (value: string) => props.onChange({ change: 'exercise', value: { [name]: value } }),
      ...(problem === undefined ? {} : { problem }),
    };
  };
  return (
    <section className="panel series-exercise" aria-label={exercise.name}>
      <header>
        <h2>{seriesWords.ofExercise(draft.chosen + 1, draft.exercises.length)}</h2>
        {exercise.movement !== '' && (
          <FigurePicture
            key={exercise.movement}
            movement={exercise.movement}
            suit="sunk"
            outline="ink2"
            className="series-still"
          />
        )}
      </header>
      <div className="series-named">
        <TextField {...field('name')} label={fields.exerciseName} />
        <TextField {...field('exercise')} label={fields.slug} hint={fields.slugHint} kind="wire" />
      </div>
      <div className="series-four">
        {lengths.map((name) => (
          <TextField key={name} {...field(name)} label={fields[name]} kind="number" unit={unit.second} />
        ))}
      </div>
      <div className="series-four">
        <TextField {...field('dwellsPerProbe')} label={fields.dwellsPerProbe} kind="number" hint={fields.dwellsHint} />
        <TextField
          {...field('cadencePerMinute')}
          label={fields.cadencePerMinute}
          kind="number"
          unit={unit.perMinute}
          hint={fields.none}
        />
        <TextField
          {...field('workRateWatts')}
          label={fields.workRateWatts}
          kind="number"
          unit={unit.watt}
          hint={fields.none}
        />
        <ChoiceField
          label={fields.movement}
          value={exercise.movement}
          choices={(['', ...movementSchema.options] as const).map((value) => ({
            ...{ value, text: seriesWords.movements[value] },
          }))}
          onChange={(movement) => props.onChange({ change: 'exercise', value: { movement } })}
        />
      </div>
      <LongField {...field('instruction')} label={fields.instruction} rows={2} />
      <LongField {...field('operatorText')} label={fields.operatorText} hint={fields.operatorHint} rows={1} />
    </section>
  );
}
