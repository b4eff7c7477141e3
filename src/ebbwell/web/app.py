"""The application: every way into every page, behind the guard."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable
from urllib.parse import unquote

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount, Route
from starlette.types import ASGIApp

from ebbwell.core.errors import EbbwellError
from ebbwell.core.reader import read_by
from ebbwell.core.text import say
from ebbwell.house import House
from ebbwell.web.failing import broken, not_found, stopped, too_big
from ebbwell.web.guard import Guard, TooBig
from ebbwell.web.keeper import Keeper
from ebbwell.web.live import DEVICE, live_routes, watching
from ebbwell.web.lying import STATIC, Lying
from ebbwell.web.reader import Doors
from ebbwell.web.visit import BEDSIDE, Visit, Way
from ebbwell.web.watch import Watch
from ebbwell.web.ways import every_way

WHO = "who"
"""Cookie that says who acts at this screen."""

LOOK = "look"
"""Cookie that says which look was picked."""

GO = "x-go"
"""Header of a script that asks where a form leads on to, and of the answer that says so."""


def told(answer: Response) -> Response:
    """An answer that sends on, as one that only says where to; any other as it is. Cookies are set all the same."""
    if "location" in answer.headers:
        answer.headers[GO] = answer.headers["location"]
        del answer.headers["location"]
        answer.status_code = 200
    return answer


def create_app(keeper: Keeper, hosts: Iterable[str], ways: tuple[Way, ...] | None = None) -> ASGIApp:
    """The pages over an open house. hosts: the names, with port, that this server answers to."""
    known = every_way() if ways is None else ways
    doors = Doors(known)
    watch = Watch()
    routes = [Route(way.path, _endpoint(keeper, way, doors, watch), methods=[way.method]) for way in known]
    app = Starlette(
        lifespan=lambda _: watching(keeper, watch),
        routes=[
            *routes,
            *live_routes(keeper, watch),
            Mount("/static", Lying(directory=STATIC), name="static"),
        ],
        exception_handlers={404: not_found, TooBig: too_big, EbbwellError: stopped, Exception: broken},
    )
    return Guard(app, hosts)


def _endpoint(
    keeper: Keeper, way: Way, doors: Doors, watch: Watch
) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(request: Request) -> Response:
        typed: dict[str, str] = {}
        many: dict[str, list[str]] = {}
        if request.method == "POST":
            async with request.form(max_files=0, max_fields=400) as form:
                for name, value in form.multi_items():
                    if isinstance(value, str):
                        typed[name] = value
                        many.setdefault(name, []).append(value)

        def act(house: House) -> Response:
            visit = Visit(
                house=house,
                path={name: str(value) for name, value in request.path_params.items()},
                query=dict(request.query_params),
                typed=typed,
                many=many,
                who=request.cookies.get(WHO, BEDSIDE) or BEDSIDE,
                at=request.url.path,
                picked_look=request.cookies.get(LOOK, ""),
                device=unquote(request.cookies.get(DEVICE, "")),
                heard=watch.heard,
            )
            if visit.person is None:
                visit.who = BEDSIDE
                visit.look_again()
            if not visit.roles & way.roles:
                return PlainTextResponse(say("web.not_for_you"), 403)
            with read_by(visit.desk.rulebook.units, access=visit.desk.access):
                return doors.as_seen(way.page(visit), visit.at, visit.roles)

        answer = await keeper.run(act)
        return told(answer) if GO in request.headers else answer

    return endpoint
