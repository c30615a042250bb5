import { Component, type ReactNode } from 'react';
import { appWords } from '../words/app.ts';

/** A defect in a screen: what is safe, and what to do. The host goes on recording whatever happens here. */
export class ErrorBoundary extends Component<{ readonly children: ReactNode }, { readonly defect: string | null }> {
  override state: { readonly defect: string | null } = { defect: null };

  static getDerivedStateFromError(error: unknown): { defect: string } {
    return { defect: error instanceof Error ? error.message : String(error) };
  }

  override render(): ReactNode {
    if (this.state.defect === null) return this.props.children;
    return (
      <main>
        <div className="defect" role="alert">
          <h1>{appWords.defectTitle}</h1>
          <p>{appWords.defectSafe}</p>
          <p className="wire">{this.state.defect}</p>
          <button type="button" className="btn lit" onClick={() => window.location.reload()}>
            {appWords.loadAgain}
          </button>
        </div>
      </main>
    );
  }
}
