/** What is replaced within this time is not dimmed and lit again. */
const DIMMED_AFTER_MS = 60;

/** Whether an older answer has stood long enough to be shown as one. Called while a part is made. */
export function agedUnless(isCurrent: () => boolean): { readonly value: boolean } {
  let aged = $state(false);
  $effect(() => {
    if (isCurrent()) {
      aged = false;
      return;
    }
    const timer = setTimeout(() => (aged = true), DIMMED_AFTER_MS);
    return () => clearTimeout(timer);
  });
  return {
    get value() {
      return aged;
    },
  };
}
