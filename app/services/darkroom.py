"""Where photos are made ready, kept for the life of the program. No session is open meanwhile."""

from collections.abc import Sequence

from app.errors import BadInput, Problem
from app.services.prepared_photo import (
    LARGEST_BYTES,
    MEGABYTE,
    MOST_PIXELS,
    PreparedPhoto,
    RefusedPhoto,
)
from app.services.worker import Worker

TASKS = "app.services.developing"
"""Named, not imported: only the worker decodes images."""
DEVELOPING_S = 20.0
DEVELOPING_BYTES = 800 * 2**20
"""Address space: 50 million pixels unpack to 200 MB, turned upright to twice that."""
FIELD = "photo"


class Darkroom:
    """Decodes what people send in a process of its own, bounded in time and memory."""

    def __init__(self, *, own_process: bool = True) -> None:
        """own_process: False for a single command, which then does the work itself."""
        self.worker = Worker(
            TASKS,
            own_process=own_process,
            time_limit_s=DEVELOPING_S,
            memory_limit_bytes=DEVELOPING_BYTES,
        )

    def prepare(self, content: bytes, field: str = FIELD) -> PreparedPhoto:
        """A photo as it will be kept. Call it outside of any writing session.

        Raises BadInput for the field: `photo_empty`, `photo_too_large`, `photo_unreadable`,
        `photo_too_many_pixels`; Unavailable `worker_failed`, `worker_too_slow`.
        """
        if not content:
            raise _refused("photo_empty", field)
        if len(content) > LARGEST_BYTES:
            raise _refused("photo_too_large", field, len(content))
        made: PreparedPhoto | RefusedPhoto = self.worker.run(  # type: ignore[assignment]
            "develop", content
        )
        if isinstance(made, RefusedPhoto):
            raise _refused(made.code, field, made.met)
        return made

    def prepare_all(
        self, contents: Sequence[bytes], field: str = FIELD
    ) -> tuple[PreparedPhoto, ...]:
        """Several photos, all of them or none. Raises as `prepare`."""
        return tuple(self.prepare(content, field) for content in contents)

    def close(self) -> None:
        """End the worker process, if it was started."""
        self.worker.close()


def _refused(code: str, field: str, met: int | None = None) -> BadInput:
    """One file that cannot be taken, with what was met and what is taken."""
    millions = MOST_PIXELS // 10**6
    known = {
        "photo_empty": Problem("photo_empty", field),
        "photo_too_large": Problem(
            "photo_too_large",
            field,
            {"met_mb": round((met or 0) / MEGABYTE, 1), "limit_mb": LARGEST_BYTES // MEGABYTE},
        ),
        "photo_too_many_pixels": Problem(
            "photo_too_many_pixels", field, {"limit_millions": millions}
        ),
        "photo_unreadable": Problem("photo_unreadable", field),
    }
    return BadInput([known[code]], code)
