import type { ReactElement } from 'react';
import { useEffect, useState } from 'react';
import { Button } from '../ui/button.tsx';
import { ChoiceField } from '../ui/field.tsx';
import { editorWords } from '../words/rig.ts';

/** A dialect that the program speaks, as the host offers it. */
export interface OfferedDialect {
  readonly kind: string;
  readonly dialect: string;
  readonly title: string;
}

/** One more instrument for the rig: which one, and a key that puts it among the others. */
export function AddInstrument(props: {
  readonly askDialects: () => Promise<readonly OfferedDialect[]>;
  readonly onAdd: (kind: string, dialect: string) => void;
}): ReactElement | null {
  const { askDialects } = props;
  const [dialects, setDialects] = useState<readonly OfferedDialect[]>([]);
  const [chosen, setChosen] = useState('');
  useEffect(() => {
    let left = false;
    void askDialects().then((offered) => {
      if (!left) setDialects(offered);
    });
    return () => {
      left = true;
    };
    // Asked for once: what the program speaks does not change while it runs.
  }, []);
  const nameOf = ({ kind, dialect }: OfferedDialect): string => `${kind} ${dialect}`;
  const found = dialects.find((one) => nameOf(one) === chosen) ?? dialects[0];
  if (found === undefined) return null;
  return (
    <div className="editor-add">
      <ChoiceField
        label={editorWords.another}
        hint={editorWords.anotherHint}
        value={nameOf(found)}
        choices={dialects.map((one) => ({ value: nameOf(one), text: one.title }))}
        onChange={setChosen}
      />
      <Button
        onPress={() => {
          props.onAdd(found.kind, found.dialect);
        }}
      >
        {editorWords.add}
      </Button>
    </div>
  );
}
