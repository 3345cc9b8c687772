"""The shop's side of the bench, all areas under one roof."""

from fastapi import APIRouter

from chape.bench.shop import batches, money, orders, papers, pieces, plan, start, stock

router = APIRouter()

for area in (start, orders, pieces, stock, batches, plan, money, papers):
    router.include_router(area.router, prefix="/shop")
