"""Drops a file on an element of a page."""

from __future__ import annotations

import base64

from playwright.sync_api import Page


def drop(page: Page, where: str, name: str, data: bytes) -> None:
    """Drop a file on an element, as a mouse does."""
    page.evaluate(
        """([where, name, data]) => {
          const bytes = Uint8Array.from(atob(data), (one) => one.charCodeAt(0));
          const dataTransfer = new DataTransfer();
          dataTransfer.items.add(new File([bytes], name));
          for (const type of ['dragover', 'drop']) {
            const event = new DragEvent(type, {dataTransfer, bubbles: true, cancelable: true});
            document.querySelector(where).dispatchEvent(event);
          }
        }""",
        [where, name, base64.b64encode(data).decode()],
    )
