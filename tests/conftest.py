"""A cluster on this machine."""

import logging
import warnings

import pytest


@pytest.fixture(scope="session")
def dask_address():
    distributed = pytest.importorskip("distributed")
    logging.getLogger("distributed").setLevel(logging.ERROR)
    with warnings.catch_warnings():
        # What the library says of its own parts is its makers' business.
        warnings.simplefilter("ignore")
        with distributed.LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=False,
            dashboard_address=None,
            host="127.0.0.1",
            protocol="tcp://",
        ) as local:
            yield local.scheduler_address
