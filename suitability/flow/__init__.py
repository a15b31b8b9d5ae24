"""How water runs over land: a stream network from elevation, in arrays and lines."""

from suitability.flow.engines import flow_engine
from suitability.flow.network import Network, stream_network

__all__ = ["Network", "flow_engine", "stream_network"]
