"""The door for programs: JSON under `/api/v1`."""

from fastapi import APIRouter

router = APIRouter(prefix="/api/v1")
