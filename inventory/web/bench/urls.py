"""The addresses of the bench."""

from django.urls import path

import inventory.converters  # noqa: F401  # registers <piece:…>
from inventory.web.bench import finding, finishing, level, paper, piece, readings, unread

urlpatterns = [
    path("bench/", finding.bench, name="bench"),
    path("bench/<piece:number>/", piece.bench_piece, name="bench-piece"),
    path("bench/<piece:number>/readings/", readings.bench_readings, name="bench-reading"),
    path("bench/<piece:number>/level/", level.bench_level, name="bench-level"),
    path("bench/<piece:number>/unread/", unread.bench_unread, name="bench-unread"),
    path("bench/<piece:number>/finish/", finishing.bench_finish, name="bench-finish"),
    path("bench/<piece:number>/paper/", paper.bench_paper, name="bench-paper"),
]
