"""How every address of the API reads, pages, shows and documents; what it says of each subject stands beside.

errors    refusals DRF has no exception for
inputs    what is sent, read strictly: a misspelt name is refused, not ignored
shapes    how lengths and moments are shown
paging    long lists in pages that stay put while rows are added
jobs      how background work is shown
parsing   the bytes of a request
sentences what is said where the framework says too little
resource  what all views have in common
schema    the OpenAPI description, with every refusal
"""
