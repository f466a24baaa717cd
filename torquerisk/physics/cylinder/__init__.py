"""In-cylinder gas, burn, heat loss, closed cycle, phasing, knock and spread."""
