"""The one page that a phone is given, with the headers that keep it to itself."""

from __future__ import annotations

import base64
import hashlib
from importlib import resources

FOLDER = "trainer.vision.sources.phone"


def page(origin: str) -> tuple[bytes, dict[str, str]]:
    """The page and its headers. origin: https://HOST:PORT, the only place that it may talk to."""
    files = resources.files(FOLDER)
    html, css, js = (files.joinpath(f"page.{kind}").read_text(encoding="utf-8") for kind in ("html", "css", "js"))
    return html.replace("/*css*/", css).replace("/*js*/", js).encode("utf-8"), headers(origin, css, js)


def headers(origin: str, css: str, js: str) -> dict[str, str]:
    """Nothing is loaded, framed, sent or opened but this page's own style, script and link."""
    policy = (
        "default-src 'none'",
        f"script-src '{_digest(js)}'",
        f"style-src '{_digest(css)}'",
        f"connect-src {origin.replace('https', 'wss', 1)}",
        "media-src 'none'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
    return {
        "Content-Type": "text/html; charset=utf-8",
        "Content-Security-Policy": "; ".join(policy),
        "X-Frame-Options": "DENY",
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "no-referrer",
        "Cache-Control": "no-store",
        "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), display-capture=()",
        "Cross-Origin-Opener-Policy": "same-origin",  # with the next: a finer clock for the page
        "Cross-Origin-Embedder-Policy": "require-corp",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Connection": "close",
    }


def _digest(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"
