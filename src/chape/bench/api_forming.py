"""What heating and forming a sheath's blank comes to."""

from fastapi import APIRouter

from chape.bench.api_jobs import found_job
from chape.bench.bench import AtBench
from chape.bench.forming_view import FormingAnswer, forming_view
from chape.bench.problem import MISSING, RefusedError

router = APIRouter(prefix="/sheaths/{name}", tags=["jobs"])


@router.get("/forming")
def forming(name: str, bench: AtBench) -> FormingAnswer:
    """Return settings, curves, thickness and cautions of the job made last."""
    try:
        return forming_view(found_job(bench, name).figures)
    except (KeyError, TypeError):
        raise RefusedError(
            MISSING,
            "This job was made before the bench showed how its blank is heated",
            mend="Make it again",
        ) from None
