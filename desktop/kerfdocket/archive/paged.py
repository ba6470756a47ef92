"""A list of found travellers, however long, of which only a few pages are held."""

from collections import OrderedDict
from threading import Lock

from kerfdocket.archive.find import FoundTraveller, Wanted, find, rows
from kerfdocket.archive.store import Archive

__all__ = ["PagedRows"]

_PAGE, _PAGES = 200, 16  # rows of a page, pages held


class PagedRows:
    """The travellers that are wanted, newest first; what is looked at is fetched page by page.

    A list never changes its length and its order: what was issued since it was made is in the new
    list that `again` makes. So a view never asks for a row that is gone, and shows a new list by
    taking it in one step.

    It may be used from several threads at once. `__len__` and `known_row` never wait for the
    database and are for the thread of the window; `row`, `fetch`, `again` and making a list do, and
    are for a worker. The lock guards the pages that are held, never the asking: two threads may
    fetch the same page, which costs time and nothing else.
    """

    def __init__(
        self,
        archive: Archive,
        wanted: Wanted,
        page_size: int = _PAGE,
        page_count: int = _PAGES,
    ) -> None:
        """Find what is wanted.

        Args:
            archive: to look in; its engine serves any thread.
            wanted: what they must be like.
            page_size: rows that are fetched at once.
            page_count: pages that are held.

        Raises:
            NotPossible: there are too many words to look for.
            ArchiveProblem: the archive cannot be read.
        """
        if page_size < 1 or page_count < 1:
            raise ValueError(f"{page_size=} and {page_count=} must be 1 or more")
        self.wanted = wanted
        self._archive = archive
        self._page_size, self._page_count = page_size, page_count
        self._ids = find(archive, wanted)
        self._lock = Lock()
        # The one that was looked at longest ago comes first.
        self._pages: OrderedDict[int, tuple[FoundTraveller, ...]] = OrderedDict()

    def __len__(self) -> int:
        return len(self._ids)

    @property
    def held(self) -> int:
        """How many rows are in memory."""
        with self._lock:
            return sum(map(len, self._pages.values()))

    def id_at(self, index: int) -> int:
        """Return the id of a row, for `traveller_at`; never waits.

        Raises:
            IndexError: the list has no such row.
        """
        return self._ids[self._checked(index)]

    def known_row(self, index: int) -> FoundTraveller | None:
        """Return a row if it is held, and else None; never waits.

        Raises:
            IndexError: the list has no such row.
        """
        number, at = divmod(self._checked(index), self._page_size)
        with self._lock:
            page = self._pages.get(number)
            if page is None:
                return None
            self._pages.move_to_end(number)
        return page[at]

    def row(self, index: int) -> FoundTraveller:
        """Return a row, fetched with its page if it is not held.

        Raises:
            IndexError: the list has no such row.
            ArchiveProblem: the archive cannot be read.
        """
        found = self.known_row(index)
        return found if found is not None else self.fetch(index)[index % self._page_size]

    def fetch(self, index: int) -> tuple[FoundTraveller, ...]:
        """Fetch the page of a row anew, whether it is held or not, and hold it.

        Returns:
            The rows of the page.

        Raises:
            IndexError: the list has no such row.
            ArchiveProblem: the archive cannot be read.
        """
        number = self._checked(index) // self._page_size
        begin = number * self._page_size
        page = rows(self._archive, self._ids[begin : begin + self._page_size])
        with self._lock:
            self._pages[number] = page
            self._pages.move_to_end(number)
            while len(self._pages) > self._page_count:
                self._pages.popitem(last=False)
        return page

    def again(self, wanted: Wanted | None = None) -> "PagedRows":
        """Return a new list, as the archive is now.

        Args:
            wanted: something else; None for the same.

        Raises:
            NotPossible: there are too many words to look for.
            ArchiveProblem: the archive cannot be read.
        """
        return PagedRows(
            self._archive,
            self.wanted if wanted is None else wanted,
            self._page_size,
            self._page_count,
        )

    def _checked(self, index: int) -> int:
        if not 0 <= index < len(self._ids):
            raise IndexError(f"{index=}; the list has {len(self._ids)} rows")
        return index
