import type { ReactElement } from 'react';
import { useRef, useState } from 'react';
import type { Failure } from '../../src/bridge/snapshot.ts';
import { shippedMethods } from '../../src/leakage/methods.ts';
import { parseMethod } from '../../src/leakage/own-method.ts';
import { ChambersideError } from '../../src/model/error-code.ts';
import type { Method } from '../../src/model/method.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import { ChoiceField } from '../ui/field.tsx';
import { reviewWords as words } from '../words/review.ts';

const planned = 'planned';
const ofFile = 'of-file';
/** A method is a few hundred bytes. */
const mostBytes = 1_000_000;

/** By what a reviewer has a trial assessed: as it was planned (null), by a method that ships, or by one of a file. */
export type ChosenMethod = string | Method | null;

/** A file of a method as it was read: the method, or what is wrong with it. */
export type MethodFile = { readonly method: Method } | { readonly failure: Failure };

/** What a file says. Wrong ones are told at once, not when somebody has typed a PIN. */
export function readMethodFile(name: string, text: string): MethodFile {
  try {
    return { method: parseMethod(JSON.parse(text), name) };
  } catch (error) {
    if (error instanceof ChambersideError) {
      const { code, remedy, what, where } = error;
      return { failure: { code, what, where, remedy } };
    }
    const what = words.noJson(error instanceof Error ? error.message : String(error));
    return { failure: { code: 'configuration-invalid', what, where: name, remedy: words.correctFile } };
  }
}

/** A file as somebody chose it; one that cannot be read, or is far too large for a method, is told too. */
async function takeMethodFile(file: File): Promise<MethodFile> {
  const refused = (what: string): MethodFile => ({
    failure: { code: 'file-not-ours', what, where: file.name, remedy: words.otherFile },
  });
  if (file.size > mostBytes) return refused(words.tooLarge);
  try {
    return readMethodFile(file.name, await file.text());
  } catch (error) {
    return refused(words.unreadable(error instanceof Error ? error.message : String(error)));
  }
}

/** @param onChange undefined while a file is wanted and none is there: nothing can be assessed yet. */
export function MethodChoice(props: { readonly onChange: (method: ChosenMethod | undefined) => void }): ReactElement {
  const { onChange } = props;
  const [choice, setChoice] = useState(planned);
  const [file, setFile] = useState<MethodFile | null>(null);
  const input = useRef<HTMLInputElement>(null);
  /** What is chosen by the time a file has been read. */
  const wanted = useRef(planned);
  const tell = (chosen: string, read: MethodFile | null): void => {
    if (chosen === ofFile) onChange(read !== null && 'method' in read ? read.method : undefined);
    else onChange(chosen === planned ? null : chosen);
  };
  return (
    <>
      <ChoiceField
        label={words.method}
        value={choice}
        choices={[
          { value: planned, text: words.planned },
          ...shippedMethods.map(({ name }) => ({ value: name, text: name })),
          { value: ofFile, text: words.ofFile },
        ]}
        onChange={(chosen) => {
          setChoice(chosen);
          wanted.current = chosen;
          tell(chosen, file);
        }}
      />
      {choice === ofFile && (
        <div className="review-method">
          <input
            ref={input}
            className="spoken"
            type="file"
            accept=".json,application/json"
            tabIndex={-1}
            aria-label={words.methodFile}
            onChange={(event) => {
              const [chosen] = event.target.files ?? [];
              event.target.value = '';
              if (chosen === undefined) return;
              // Nothing can be assessed by the one before while this one is read.
              onChange(undefined);
              void takeMethodFile(chosen).then((read) => {
                setFile(read);
                if (wanted.current === ofFile) tell(ofFile, read);
              });
            }}
          />
          <Button small onPress={() => input.current?.click()}>
            {words.methodFile}
          </Button>
          {file !== null && 'method' in file && (
            <span>{words.methodOf(file.method.name, file.method.version)}</span>
          )}
          {file !== null && 'failure' in file && <FailureBlock failure={file.failure} />}
        </div>
      )}
    </>
  );
}
