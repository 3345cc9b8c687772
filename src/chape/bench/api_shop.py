"""The shop's side of the bench, all areas under one roof."""

from fastapi import APIRouter

from chape.bench.shop import (
    batches,
    carried,
    cuts,
    hurry,
    money,
    orders,
    papers,
    pieces,
    plan,
    start,
    stock,
    taught,
    trials,
)

router = APIRouter()

AREAS = (
    *(carried, start, orders, pieces, stock, cuts, batches),
    *(plan, hurry, money, taught, trials, papers),
)

for area in AREAS:
    router.include_router(area.router, prefix="/shop")
