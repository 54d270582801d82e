"""Jobs: started on a plan, followed by their events, closed with a verdict, shown as a record."""
