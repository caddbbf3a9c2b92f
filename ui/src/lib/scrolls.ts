/** Tells where a box that scrolls goes on beyond its edges. */

export interface Beyond {
  /** More lies above, or to the left. */
  before: boolean;
  /** More lies below, or to the right. */
  after: boolean;
}

/** As an attachment of an element; `told` is called at once and whenever it has changed. */
export function beyond(told: (more: Beyond) => void): (box: HTMLElement) => () => void {
  return (box) => {
    let last = "";
    const look = (): void => {
      const left = [box.scrollHeight - box.clientHeight - box.scrollTop, box.scrollWidth - box.clientWidth - box.scrollLeft];
      const more = { before: box.scrollTop > 1 || box.scrollLeft > 1, after: left.some((rest) => rest > 1) };
      const now = `${more.before} ${more.after}`;
      if (now !== last) told(more);
      last = now;
    };
    const sized = new ResizeObserver(look);
    sized.observe(box);
    const changed = new MutationObserver(look);
    changed.observe(box, { childList: true, subtree: true });
    box.addEventListener("scroll", look, { passive: true });
    look();
    return () => {
      sized.disconnect();
      changed.disconnect();
      box.removeEventListener("scroll", look);
    };
  };
}
