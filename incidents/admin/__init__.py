"""Where whoever runs an agency keeps its people: Django's admin, cut down.

Only what is registered here has an address. Incidents, logs, findings, reports, limits
are not: what was recorded is changed by nobody, and what is set up is set up on its own
pages. Django's permissions are not used; who runs an agency sees that one agency.
"""

from incidents.admin.agencies import Agencies, SignIns
from incidents.admin.people import People
from incidents.admin.site import office

__all__ = ["Agencies", "People", "SignIns", "office"]
